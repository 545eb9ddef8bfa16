package question

// What is asked of the trade: verdicts, and the trials that they chose from. where
// narrows trials, choice verdicts or promises.

// Months asks for sessions, verdicts and promises by month.
func Months(where, choice string) string {
	return text("trade_months.sql", asked{Where: where, Choice: choice})
}

// Chosen asks how often parts were chosen, by month.
func Chosen(where, choice string) string {
	return text("trade_chosen.sql", asked{Where: where, Choice: choice})
}

// Never asks what was tried how often, and chosen, of what at least so many sessions tried.
func Never(where, choice string, least int) string {
	return text("trade_never.sql", asked{Where: where, Choice: choice, Least: least})
}

// Checked asks what promises were worth, by fitter and days.
func Checked(choice string) string { return text("trade_kept.sql", asked{Choice: choice}) }
