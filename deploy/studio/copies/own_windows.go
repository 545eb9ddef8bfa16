package copies

// own has nothing to do: what is made in a folder belongs to who the folder says.
func own(_, _ string) error { return nil }
