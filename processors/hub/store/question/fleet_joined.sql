-- As whom snapshots tell of a player.
SELECT DISTINCT joined FROM fleet_joins WHERE player = {v:String}
