-- Between which times a shot was hit, both included: at itself where that is
-- known. The epoch as earliest says that it is not known from when; 2100 as
-- latest, that it is not known until when. Where the two lie on either side of
-- a change of build the status is between, until somebody says.
ALTER TABLE entries ADD COLUMN IF NOT EXISTS earliest DateTime64(9, 'UTC') DEFAULT at AFTER at;

ALTER TABLE entries ADD COLUMN IF NOT EXISTS latest DateTime64(9, 'UTC') DEFAULT at AFTER earliest;
