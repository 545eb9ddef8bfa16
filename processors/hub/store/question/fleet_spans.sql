-- Of each trait of the swing: low, middle, high, and of how many players it is known.
SELECT {{spans}} FROM profiles WHERE {{.Where}}
