-- The trial in which a verdict's delivered club was hit.
SELECT check_trial FROM verdicts FINAL WHERE studio = ? AND id = ? AND live AND checked
