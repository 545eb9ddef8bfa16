-- A promise lies within its own interval, and its odds are odds.
SELECT verdict, outcome, promised, promised_low, promised_high, promised_probability_better FROM {{ source('fairlead', 'promises_checked') }}
WHERE promised < promised_low OR promised > promised_high OR promised_probability_better < 0 OR promised_probability_better > 1
