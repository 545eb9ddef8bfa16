-- Keep whom a snapshot tells of as one.
INSERT INTO fleet_joins (snapshot, player, joined)
