package question

// What an audit and the check of a demo ask.

// BayCounts asks what of a bay is stored, by status.
func BayCounts() string { return text("audit_counts.sql", asked{}) }

// Checksum asks for the sum of what a table's rows hash to; where narrows them, or is empty.
func Checksum(table, hash, where string) string {
	return text("audit_checksum.sql", asked{Table: table, Columns: hash, Where: where})
}

// BayTags asks for the tags of a bay.
func BayTags() string { return text("audit_tags.sql", asked{}) }

// BuildsThatCount asks for every shot and the build it counts for.
func BuildsThatCount() string { return text("demo_builds.sql", asked{}) }

// OtherStudios asks how many trials other studios have.
func OtherStudios() string { return text("demo_others.sql", asked{}) }
