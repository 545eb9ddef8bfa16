package question

// What an export asks.

// Known asks whether a studio, player, session or visit is known: 0 if not.
func Known(what string) string { return text("known_"+what+".sql", asked{Parameter: "id"}) }

// SessionsOf selects the sessions of a player.
func SessionsOf() string { return text("export_sessions.sql", asked{Parameter: "player"}) }

// OfCategory is the condition that a session was opened for a category.
func OfCategory() string { return text("export_category.sql", asked{}) }

// Consented is the condition that a session may teach across players.
func Consented() string { return text("export_consented.sql", asked{}) }

// Wanted asks what rows are, how many of them a choice takes, and how many it leaves.
func Wanted(of, choice, from, where string) string {
	return text("export_counts.sql", asked{Columns: of, Choice: choice, From: from, Where: where})
}

// Hidden asks how many rows are never exported.
func Hidden(from, where string) string {
	return text("export_hidden.sql", asked{From: from, Where: where})
}

// ColumnsOf asks for the columns of a view.
func ColumnsOf() string { return text("export_columns.sql", asked{}) }

// Exported asks for the rows of a file.
func Exported(columns, from, where, order string) string {
	return text("export_rows.sql", asked{Columns: columns, From: from, Where: where, Order: order})
}

// ExportDays asks on which days of which studios there are rows of a view.
func ExportDays(time, view, where string) string {
	return text("export_days.sql", asked{Columns: time, From: view, Where: where})
}
