-- How the club met the ball in a trial of the fleet, for what lies between a build and an
-- outcome: where the face was struck (the sum of squares of both axes together), how fast
-- the club was, how face and path scattered. Sums of squares are about the trial's mean; a
-- count of 0 is what the device does not measure, or a snapshot from before.
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS strike_n UInt32;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS strike_ss Float64;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS speed_n UInt32;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS speed_now_mps Float64;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS speed_ss Float64;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS face_n UInt32;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS face_ss Float64;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS path_n UInt32;
ALTER TABLE fleet_trials ADD COLUMN IF NOT EXISTS path_ss Float64;
