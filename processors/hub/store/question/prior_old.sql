-- Take away answers to a question that no visit can ask for any more.
DELETE FROM fleet_priors WHERE question = {v:String} AND id != {id:String} AND toUnixTimestamp64Milli(received) < {b:Int64}
