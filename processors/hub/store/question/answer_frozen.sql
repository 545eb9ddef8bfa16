-- Of how many trials a frozen answer was made.
SELECT trials FROM fleet_frozen FINAL WHERE answer = {v:String} ORDER BY at DESC LIMIT 1
