-- The condition that a session is of a player who consents and is no minor.
session IN (SELECT session FROM trials FINAL WHERE consent AND NOT minor)
