package question

// What ops ask of bays.

// BaysSince asks how a studio's bays delivered since a time.
func BaysSince() string { return text("ops_month.sql", asked{}) }

// OtherStudiosSince asks what came from other studios.
func OtherStudiosSince() string { return text("ops_studios.sql", asked{}) }

// BayByHour asks for a bay's lines by the hour.
func BayByHour() string { return text("ops_day.sql", asked{}) }
