-- The mark of the last night that succeeded: of which models it was, too.
SELECT max(asked), argMax(mark_inserted, asked), argMax(mark_version, asked),
    JSONExtractString(argMax(body, asked), 'mark', 'flight_model'), JSONExtractString(argMax(body, asked), 'mark', 'joins'),
    argMax(model, asked)
FROM answers WHERE question = {kind:String}
