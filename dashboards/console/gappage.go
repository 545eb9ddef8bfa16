package console

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/profile"
	"fairlead/processors/visit"
)

// gapAge is how old shots may be that a bag is gapped by: swings change.
const gapAge = 400 * 24 * time.Hour

// gapView is a bag judged by its shots. The table is that of `fairlead club
// gapping`: one computation, so that no two say different things of one gap.
type gapView struct {
	ID, Name string
	Why      string // why there is nothing
	Rows     []gapRow
	Wedges   []gapRow
	Stated   []string // clubs that were not hit, with the carry by the player's word
	Advice   []string
	Notes    []string
	Longest  string
	Any      string
	Picture  template.HTML
}

type gapRow struct{ Club, Loft, Shots, Carry, Spread, Gap, Range, Verdict, More string }

func (s *server) gapPage(w http.ResponseWriter, r *http.Request) {
	f, p, ok := s.known(w, r)
	if !ok {
		return
	}
	v := gapView{ID: p.ID, Name: p.Name}
	var shots []ownShots
	if st, err := s.book.opened(); err != nil {
		v.Why = "The store is away: shots can’t be read now."
	} else if shots, err = ownShotsOf(r.Context(), st, s.studio, p.ID, s.now().Add(-gapAge).UnixNano()); err != nil {
		s.log.Warn("a bag's shots can't be read", "player", p.ID, "error", err)
		v.Why = "The store does not answer: try again."
	}
	s.gapView(&v, f, shots)
	s.show(w, http.StatusOK, "gaps.html", map[string]any{"Title": "Gaps of " + p.Name, "Studio": s.studio, "V": v})
}

// inBag is which club of a bag a build's name means; nil: none.
func inBag(bag []*event.BagClub, name, category string) *event.BagClub {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" ,;()", r) })
	var one *event.BagClub
	n := 0
	for _, c := range bag {
		if strings.EqualFold(c.Name, name) || slices.Contains(words, strings.ToLower(c.Name)) {
			return c
		}
		if c.Category == category {
			one = c
			n++
		}
	}
	if n == 1 { // the only driver is the driver
		return one
	}
	return nil
}

// positions are the ways to hit a distance that were hit, by club of the bag where
// it is known which one it was, and by the build's name else.
func positions(f *visit.File, shots []ownShots, far func(float64) string) (out []club.Position) {
	bag := f.Clubs()
	builds := map[string]string{}
	for _, seat := range f.Seats {
		for _, t := range seat.Trials {
			builds[t.ID] = t.Build.GetName()
		}
	}
	type sums struct{ carry, landing, spin profile.Moment }
	var order []string
	by := map[string]*club.Position{}
	all := map[string]*sums{}
	for _, o := range shots {
		name := builds[o.Trial]
		p := club.Position{Club: nonEmpty(name, "own "+o.Category), Loft: o.LoftDeg}
		p.Category, _ = glossary.ParseCategory(o.Category)
		if c := inBag(bag, name, o.Category); c != nil {
			p.Club = c.Name
			if loft, ok := c.Build.Number(event.BuildField_BUILD_LOFT); ok {
				p.Loft = loft
			}
		}
		if o.Class == "partial" {
			p.Swing = "partial"
			if o.LengthM > 0 {
				p.Swing = far(o.LengthM)
			}
		}
		key := strings.ToLower(p.Name())
		if by[key] == nil {
			by[key], all[key] = &p, &sums{}
			order = append(order, key)
		}
		a := all[key]
		a.carry, a.landing, a.spin = a.carry.With(o.Carry), a.landing.With(o.Landing), a.spin.With(o.Spin)
	}
	sample := func(m profile.Moment) club.Sample {
		x := club.Sample{N: int(m.N), Mean: m.Mean}
		if m.N > 1 {
			x.SD = math.Sqrt(max(0, m.SS) / float64(m.N-1))
		}
		return x
	}
	for _, key := range order {
		p := by[key]
		p.Carry, p.Landing, p.Spin = sample(all[key].carry), sample(all[key].landing), sample(all[key].spin)
		out = append(out, *p)
	}
	return out
}

func (s *server) gapView(v *gapView, f *visit.File, shots []ownShots) {
	far := s.units.Distance()
	bag := f.Clubs()
	all := positions(f, shots, s.units.Round)
	hit := map[string]bool{}
	for _, p := range all {
		hit[strings.ToLower(p.Club)] = true
	}
	o := club.DefaultGapOptions()
	o.OtherClubs = 0
	for _, c := range bag {
		if hit[strings.ToLower(c.Name)] {
			continue
		}
		o.OtherClubs++
		if c.CarryM > 0 {
			v.Stated = append(v.Stated, fmt.Sprintf("%s %s", c.Name, s.units.Written(c.CarryM)))
		}
	}
	if len(all) == 0 {
		if v.Why == "" {
			v.Why = "No shot with an own club is stored yet: hit each club of the bag as the player’s own."
		}
		return
	}
	g, err := club.NewGapping(all, o)
	if err != nil {
		v.Why = err.Error()
		return
	}
	rows := func(ps []club.Position, gaps []club.Gap) (out []gapRow) {
		for i, p := range ps {
			row := gapRow{Club: p.Name(), Shots: fmt.Sprint(p.Carry.N), Carry: far.Text(p.Carry.Mean)}
			if p.Loft > 0 {
				row.Loft = fmt.Sprintf("%.1f°", p.Loft)
			}
			if p.Carry.N > 1 {
				row.Spread = "± " + far.Short(p.Carry.SD)
			}
			if i < len(gaps) {
				gap := gaps[i]
				row.Verdict = string(gap.Verdict)
				if gap.Known {
					row.Gap, row.Range = far.Text(gap.Mean), far.Short(gap.Low)+" to "+far.Short(gap.High)
				}
				if gap.More > 0 {
					row.More = fmt.Sprintf("%d more shots", gap.More)
				}
				if gap.Advice != "" {
					v.Advice = append(v.Advice, fmt.Sprintf("%s to %s, %s: %s", gap.Longer, gap.Shorter, gap.Verdict, gap.Advice))
				}
			}
			out = append(out, row)
		}
		return out
	}
	v.Rows, v.Wedges = rows(g.Full, g.Gaps), rows(g.Wedges, g.Short)
	if len(g.Short) == 0 {
		v.Wedges = nil
	}
	v.Notes, v.Longest, v.Any = g.Notes, g.LongestHolding, g.LongestHoldingAny
	if len(g.Full) > 1 {
		v.Picture = draw.Gapping(g, s.units.Imperial).Inline()
	}
}
