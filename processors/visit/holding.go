package visit

// Holding is all of a span that a tag may depend on, as one comparable value:
// the span's own words, and what is said of its session and its trial. Whatever
// is added to one of the three is in it by itself.
type Holding struct {
	Span    SpanWords
	Setting Setting
	Session SessionWords
	Trial   TrialWords
}

// Holding gives what a tag may depend on.
func (s *Span) Holding() Holding {
	h := Holding{Span: s.SpanWords, Setting: *s.setting}
	if s.Session != nil {
		h.Session = s.Session.SessionWords
	}
	if s.Trial != nil {
		h.Trial = TrialWords{ID: s.Trial.ID, Number: s.Trial.Number, Parts: len(s.Trial.Parts), BuildKey: s.Trial.BuildKey,
			Name: s.Trial.Build.GetName()}
	}
	return h
}

// TrialWords are what a tag and the rows of its shots take from a trial.
type TrialWords struct {
	ID       string
	Number   int
	Parts    int
	BuildKey string
	Name     string // of the build
}
