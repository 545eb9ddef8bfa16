package answers

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"
)

// Whose says what stands behind an answer: whose it is, of when, of how many.
func (s *Stored) Whose() string {
	of := fmt.Sprintf("%d players", s.Players)
	if s.Studios > 0 {
		of = fmt.Sprintf("%d players of %s", s.Players, count(s.Studios, "studio"))
	}
	from := "this studio's own"
	if s.HeadOffice != nil {
		from = "the head office " + s.HeadOffice.Name
	}
	return fmt.Sprintf("%s, by %s, answered on %s", of, from, s.Asked.UTC().Format("2 January 2006"))
}

func count(n uint64, of string) string {
	if n == 1 {
		return "1 " + of
	}
	return fmt.Sprintf("%d %ss", n, of)
}

// PriorInUse is the answer that a visit which begins now is judged with.
type PriorInUse struct {
	Category string    `json:"category"`
	Outcome  string    `json:"outcome"`
	Answer   string    `json:"answer"`
	Office   string    `json:"head_office,omitempty"` // empty: the studio's own
	Players  uint64    `json:"players"`
	Studios  uint64    `json:"studios,omitempty"`
	Answered time.Time `json:"answered"`
	Stored   time.Time `json:"stored_until"` // it knows rows that were stored up to then
	Received time.Time `json:"received,omitzero"`
	Signed   string    `json:"signed_by,omitempty"` // fingerprint of the authority
	// Own is how many players the studio's own answer has, Theirs the head office's; the
	// one with more is used.
	Own    uint64 `json:"own_players"`
	Theirs uint64 `json:"head_office_players"`
}

// PriorsInUse are all of them.
type PriorsInUse struct {
	Asked OfficeAsked  `json:"head_office"`
	Lines []PriorInUse `json:"priors"`
}

// PriorsInUse says which answer each outcome of a visit that begins now is judged with.
func (f *Fleet) PriorsInUse(ctx context.Context) (*PriorsInUse, error) {
	asked, err := f.asked(ctx)
	if err != nil {
		return nil, err
	}
	out := &PriorsInUse{Asked: asked, Lines: []PriorInUse{}}
	now := f.now()
	for _, q := range shared() {
		own, theirs, _, err := f.bothBefore(ctx, q, now)
		if err != nil {
			return nil, err
		}
		s := more(own, theirs)
		if s == nil || s.Players < leastPriorPlayers {
			continue
		}
		l := PriorInUse{Category: q.Filter.Category, Outcome: q.Outcome, Answer: s.ID, Players: s.Players, Studios: s.Studios, Answered: s.Asked,
			Stored: s.Mark.Inserted}
		if o := s.HeadOffice; o != nil {
			l.Office, l.Received, l.Signed = o.Name, o.Received, o.Signed
		}
		if own != nil {
			l.Own = own.Players
		}
		if theirs != nil {
			l.Theirs = theirs.Players
		}
		out.Lines = append(out.Lines, l)
	}
	return out, nil
}

// Said says in a few sentences how it stands with the head office.
func (p *PriorsInUse) Said() []string {
	var out []string
	a := p.Asked
	switch {
	case a.At.IsZero():
		out = append(out, "No head office was asked for answers: what is expected comes from this studio's own players.")
	case a.Heard.IsZero():
		out = append(out, "The head office has not answered yet.")
	default:
		out = append(out, "The head office last answered on "+a.Heard.UTC().Format("2 January 2006 at 15:04 UTC")+".")
	}
	if a.Trouble != "" {
		out = append(out, "It can't be asked now; what is here is used on ("+strings.TrimSuffix(a.Trouble, ".")+").")
	}
	for _, r := range a.Refused {
		out = append(out, "Not used: "+r+".")
	}
	return out
}

// WriteText prints them for people.
func (p *PriorsInUse) WriteText(w io.Writer) error {
	for _, line := range p.Said() {
		if _, err := fmt.Fprintln(w, line); err != nil {
			return err
		}
	}
	if len(p.Lines) == 0 {
		_, err := fmt.Fprintln(w, "No answer is kept that stands on 30 players: in the bays the weak default holds.")
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "category\toutcome\tin use\tanswered\tplayers\tstudios\treceived\tanswer\tsigned by")
	for _, l := range p.Lines {
		use, received, studios, signed := "own", "–", "–", "–"
		if l.Studios > 0 {
			studios = fmt.Sprint(l.Studios)
		}
		if l.Office != "" {
			use, received, signed = "head office "+l.Office, l.Received.UTC().Format("2006-01-02 15:04"), "nobody (in clear)"
			if l.Signed != "" {
				signed = l.Signed[:min(len(l.Signed), 23)] + "…"
			}
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%d\t%s\t%s\t%s\t%s\n", l.Category, l.Outcome, use, l.Answered.UTC().Format("2006-01-02 15:04"), l.Players,
			studios, received, l.Answer, signed)
	}
	return t.Flush()
}
