package sheets

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// printer writes lines and remembers the first error.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, clean(format)+"\n", cleaned(args)...)
	}
}

// cleaned takes control characters out of what people typed: a text is read in
// terminals.
func cleaned(args []any) []any {
	out := make([]any, len(args))
	for i, a := range args {
		if s, ok := a.(string); ok {
			a = clean(s)
		}
		out[i] = a
	}
	return out
}

func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0':
			return ' '
		case r < ' ' && r != '\t' || r >= 0x7f && r < 0xa0:
			return -1
		}
		return r
	}, s)
}

func (p *printer) heading(text string) {
	p.line("")
	p.line("%s", text)
	p.line("%s", strings.Repeat("-", len([]rune(clean(text)))))
}

// WriteText writes the sheet as plain text.
func (s *Sheet) WriteText(w io.Writer) error {
	p := &printer{w: w}
	if s.IsOrder {
		p.line("BUILD SHEET   %s", or(ifNot(s.Number, "order "), "not ordered yet"))
	} else {
		p.line("NO ORDER")
	}
	for _, a := range s.Alerts {
		mark := "note:"
		if a.Stop {
			mark = "!!! STOP:"
		}
		p.line("%s %s", mark, a.Text)
	}
	p.line("%s", s.Says)
	if s.Words != "" {
		p.line("In words: “%s”", s.Words)
	}
	p.line("studio %s, bay %s, %s   fitter %s", s.Studio, s.Bay, s.Decided.Format("2 January 2006, 15:04"), s.Fitter)
	p.line("player %s (%s), %s hand, %s", s.Player, s.PlayerID, strings.ToUpper(s.Hand), s.Category)
	if len(s.Groups) == 0 {
		return p.err
	}
	p.line("build %s   test club %s   differences against %s", or(s.Build, "without a name"), or(s.TestClub, "without an id"),
		or(s.Gamer, "nothing: no other club is known"))
	for _, g := range s.Groups {
		p.heading(g.Name)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, x := range g.Listed() {
			limits := ""
			if x.Tolerance != "" {
				limits = fmt.Sprintf("%s (%s to %s)", x.Tolerance, x.From, x.To)
			}
			built := ""
			known := x.Knowledge
			switch {
			case x.Settle:
				known = "TO BE SETTLED"
			case known == "unknown":
				known = "" // the value says it
			}
			switch {
			case x.Built != "":
				built = "as built: " + x.Built
				if x.BuiltOff {
					built += " (beyond)"
				}
			case x.Measure:
				built = "as built: ________"
			}
			fmt.Fprintln(t, clean(strings.Join([]string{x.Label, x.Value, x.SI, known, limits, x.Note, built}, "\t")))
		}
		if err := t.Flush(); p.err == nil {
			p.err = err
		}
		if rest := g.Rest(); len(rest) > 0 {
			p.line("unknown: %s", strings.Join(rest, ", "))
		}
	}
	s.Heft.text(p)
	p.heading("Beware")
	p.line("%s", caution)
	for _, o := range s.Work {
		p.line("[ ] %s: %s", o.Name, o.Why)
		for _, c := range o.Cautions {
			p.line("      %s %s (%s)", c.Hazard, c.Do, c.Source)
		}
	}
	p.heading("Done")
	p.line("built by ________  date ________  measured by ________  date ________")
	p.line("hit check: date ________  trial ________  initials ________   enter it with: fairlead visit check --bay BAY %s TRIAL --measured "+
		"lie=…", s.Order)
	return p.err
}

func (h *Heft) text(p *printer) {
	if h == nil {
		return
	}
	p.heading("Do the parts add up?")
	if h.Filled != "" {
		p.line("%s", sentence(h.Filled))
	}
	if len(h.Missing) > 0 {
		p.line("Can't be said: %s unknown.", strings.Join(h.Missing, ", "))
	}
	if h.Total != "" {
		p.line("Expected of these parts: total %s, swing weight %s ± %.1f points.", h.Total, h.SwingWeight, h.Unsure)
	}
	if len(h.Missing) == 0 {
		p.line("%s", sentence(h.Verdict))
	}
	for _, x := range h.Warnings {
		p.line("!!! %s", x)
	}
	for _, x := range h.Ways {
		p.line("  possible, one of: %s", x)
	}
	p.line("%s", h.Basis)
}

// WriteText writes the report as plain text.
func (r *Report) WriteText(w io.Writer) error {
	p := &printer{w: w}
	p.line("REPORT OF A FITTING")
	p.line("%s, studio %s, %s", or(r.Player, "player unknown"), r.Studio, r.Day.Format("2 January 2006"))
	if r.Erased {
		p.line("What was measured and said was erased at the player's request.")
	}
	for i := range r.Sessions {
		r.Sessions[i].text(p)
	}
	p.heading("Words used here")
	for _, g := range gloss {
		p.line("%s: %s", g[0], g[1])
	}
	return p.err
}

func (s *Session) text(p *printer) {
	p.heading(fmt.Sprintf("%s, bay %s, %s", sentence(s.Category)[:len(sentence(s.Category))-1], s.Bay, s.Begun.Format("15:04")))
	if s.Aim != "" {
		p.line("You came for: “%s”", s.Aim)
	}
	if s.Setting != "" {
		p.line("Where: %s", s.Setting)
	}
	p.line("")
	p.line("IN SHORT")
	for _, x := range []string{s.Short.Changed, s.Short.Gains, s.Short.Next} {
		p.line("  %s", x)
	}
	for _, q := range s.Quoted {
		p.line("  %s.", q.In())
		for _, l := range q.Lines {
			p.line("    %d %s, %s: %s", l.Pieces, l.What, or(l.Each, "no price"), or(l.Sum, "–"))
		}
	}
	p.line("")
	p.line("WHAT WAS DECIDED")
	if len(s.Decided) == 0 {
		p.line("  Nothing was decided in this session.")
	}
	for _, d := range s.Decided {
		p.line("  %s%s.", d.Says, ifNot(d.Club, ": "))
		if d.Words != "" {
			p.line("    “%s”", d.Words)
		}
		for _, x := range d.Promises {
			p.line("    %s: %s; odds that it is %s: %s. %s", x.Label, x.Text, x.Good, chance(x.Odds), x.Kept)
		}
		if d.Number != "" {
			p.line("    order %s", d.Number)
		}
		if d.Next != "" {
			p.line("    %s", d.Next)
		}
	}
	for _, x := range s.Back {
		p.line("  %s", x)
	}
	p.line("")
	p.line("WHAT WAS TRIED")
	for _, t := range s.Tried {
		p.line("  %s%s: %s", t.Name, map[bool]string{true: " (own club)"}[t.Own], plural(t.Shots, "shot", "shots"))
		for _, x := range append(append([]string{}, t.Changes...), t.Unknown) {
			if x != "" {
				p.line("    %s", x)
			}
		}
		for _, swing := range t.Swings {
			before := "    "
			if swing.Of != "" {
				p.line("    %s:", swing.Of)
				before = "      "
			}
			for _, x := range []string{ifNot(swing.Carry, "carry "), swing.Spread, swing.Left} {
				if x != "" {
					p.line("%s%s", before, x)
				}
			}
		}
		for _, x := range t.Told {
			p.line("    told: “%s”", x)
		}
		for _, x := range t.Felt {
			p.line("    felt: %s", x)
		}
	}
	p.line("")
	p.line("WHAT WAS FOUND")
	for _, f := range s.Found {
		p.line("  %s against %s%s: %s", f.Club, f.Against, ifNot(f.Swings, ", "), f.Headline)
		if f.Trade != "" {
			p.line("    %s", f.Trade)
		}
		if f.Strokes != "" {
			p.line("    %s", f.Strokes)
		}
		if f.Mixed {
			continue
		}
		for _, o := range f.Told() {
			p.line("    %s: %s", o.Label, o.Text)
		}
		if open := f.Open(); open != "" {
			p.line("    Looked at too, and cannot tell yet: %s.", open)
		}
	}
	if len(s.Found) == 0 {
		p.line("  One club only: nothing to compare.")
	}
	if e := s.Earlier; e != nil {
		p.line("")
		p.line("SINCE YOUR LAST VISIT (%s)", e.Day.Format("2 January 2006"))
		p.line("  %s", e.Text)
		for _, c := range e.Changes {
			p.line("    %s: %s", c.Label, c.Text)
		}
	}
	p.line("")
	p.line("HOW SURE ONE MAY BE")
	for _, x := range s.Sure {
		p.line("  %s", x)
	}
	for _, f := range s.Found {
		for _, d := range f.Doubts {
			p.line("  %s: %s", f.Club, d)
		}
	}
}

func or(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func ifNot(s, before string) string {
	if s == "" {
		return ""
	}
	return before + s
}
