package question

// EveryColumn asks for every column of the store's tables and views.
func EveryColumn() string { return text("comment_columns.sql", asked{}) }

// ViewAs asks what a view selects.
func ViewAs() string { return text("comment_view_as.sql", asked{}) }

// CommentView makes a view anew with comments on its columns, as it selects.
func CommentView(view, columns, as string) string {
	return text("comment_view.sql", asked{Table: view, Columns: columns, From: as})
}

// CommentTable puts comments onto columns of a table.
func CommentTable(table, comments string) string {
	return text("comment_table.sql", asked{Table: table, Columns: comments})
}
