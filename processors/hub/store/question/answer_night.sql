-- The mark of the last night that succeeded.
SELECT max(asked), argMax(mark_inserted, asked), argMax(mark_version, asked) FROM answers WHERE question = {kind:String}
