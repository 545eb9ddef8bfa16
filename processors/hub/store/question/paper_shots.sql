-- The shots of a session with their tags as they are stored, in the order of the session, and every measured field.
SELECT CAST(journal AS String), seq, shot_id, CAST(device AS String),
    toUnixTimestamp64Nano(received), toUnixTimestamp64Nano(at),
    CAST(status AS String), reason, CAST(visit AS String), CAST(trial AS String), trial_number, part, moved,
    CAST(build AS String), CAST(player AS String), CAST(category AS String), CAST(hand AS String),
    CAST(class AS String), class_length_m, CAST(intent AS String), CAST(instruction AS String), instructions, order_trial, order_session, swap,
    {{measures}}
FROM entries FINAL WHERE studio = ? AND bay = ? AND session = ? AND order_session > 0 ORDER BY order_session, journal, seq
