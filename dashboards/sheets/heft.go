package sheets

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
)

// What may be said of whether the ordered parts make the ordered club.
const (
	addsUp       = "adds up"
	doesNotAddUp = "does not add up"
	nearly       = "close: check on the scale before the epoxy sets"
	cannotSay    = "can't be said"
)

// Heft is what the ordered parts will weigh together, by the arithmetic of
// processors/golf/club, against what was ordered.
type Heft struct {
	Verdict     string   `json:"verdict"`
	Missing     []string `json:"missing,omitempty"` // what is not known and would have to be
	Filled      string   `json:"filled,omitempty"`  // a part that was taken as the rest of the total
	TotalKg     *float64 `json:"total_kg,omitempty"`
	Total       string   `json:"total,omitempty"`
	MomentKgM   *float64 `json:"moment_kgm,omitempty"`
	SwingWeight string   `json:"swing_weight,omitempty"`
	Points      *float64 `json:"points_above_ordered,omitempty"` // predicted less ordered
	Unsure      float64  `json:"points_unsure"`                  // ± by what is not known of the shaft's balance
	Warnings    []string `json:"warnings,omitempty"`
	Ways        []string `json:"ways,omitempty"` // how the bench could bring it there
	Basis       string   `json:"basis"`
}

// balanceOff is by how much of its length a shaft's balance point may lie away
// from the middle that is assumed: shafts with more or less weight towards the
// butt are common.
const balanceOff = 0.03

// unlisted is what a club weighs beside head, shaft and grip: ferrule, epoxy,
// tape. A working range of up to 8 g.
const unlisted = 0.008

func heft(b *event.Build, u Units) *Heft {
	h := &Heft{Verdict: cannotSay, Basis: "Head, shaft as cut and grip with its tape as points on the club: the shaft balances at its " +
		"middle, the grip 4 in from the butt, the head at the playing length. Weigh the finished club: the scale decides."}
	length, okL := b.Number(event.BuildField_BUILD_LENGTH)
	head, okH := b.Number(event.BuildField_BUILD_HEAD_WEIGHT)
	shaft, okS := b.Number(event.BuildField_BUILD_SHAFT_WEIGHT)
	grip, okG := b.Number(event.BuildField_BUILD_GRIP_WEIGHT)
	total, okT := b.Number(event.BuildField_BUILD_TOTAL_WEIGHT)
	moment, okW := b.Number(event.BuildField_BUILD_SWING_WEIGHT)
	masses := []struct {
		name string
		ok   *bool
		v    *float64
	}{{"head weight", &okH, &head}, {"shaft weight", &okS, &shaft}, {"grip weight", &okG, &grip}}
	var missing []int
	for i, m := range masses {
		if !*m.ok {
			missing = append(missing, i)
		}
	}
	if len(missing) == 1 && okT {
		m := masses[missing[0]]
		*m.v = total - head - shaft - grip
		*m.ok = true
		h.Filled = fmt.Sprintf("%s taken as the rest of the total weight, %s", m.name, grams(*m.v))
		missing = nil
	}
	for _, i := range missing {
		h.Missing = append(h.Missing, masses[i].name)
	}
	if !okL {
		h.Missing = append(h.Missing, "length")
	}
	if len(h.Missing) > 0 {
		return h
	}
	c := club.Club{Length: length, HeadMass: head, ShaftMass: shaft, GripMass: grip}
	got, err := c.Heft()
	if err != nil {
		h.Verdict = doesNotAddUp
		h.Warnings = append(h.Warnings, "No such club: "+plain(err)+".")
		return h
	}
	h.Verdict = addsUp
	h.TotalKg, h.Total, h.MomentKgM, h.SwingWeight = &got.Mass, grams(got.Mass), &got.Moment, got.SwingWeight.String()
	h.Unsure = shaft * balanceOff * (length - club.Inch) / club.Point
	if okT && h.Filled == "" {
		h.weigh(total, got.Mass)
	}
	if okW {
		h.balance(c, got, club.SwingWeightOf(moment), u)
	}
	return h
}

// weigh holds the parts against the ordered total.
func (h *Heft) weigh(wanted, got float64) {
	tolerance := club.DefaultTolerances()[club.SpecMass]
	switch rest := wanted - got; {
	case rest < -tolerance-1e-9:
		h.Verdict = doesNotAddUp
		h.Warnings = append(h.Warnings, fmt.Sprintf("The parts alone weigh %s, %s more than the total of %s that is asked.", grams(got),
			grams(-rest), grams(wanted)))
	case rest > unlisted+tolerance+1e-9:
		h.Verdict = doesNotAddUp
		h.Warnings = append(h.Warnings, fmt.Sprintf("The parts weigh %s and the total asked is %s: %s are to be added, and the sheet does not "+
			"say where.", grams(got), grams(wanted), grams(rest)))
	}
}

// balance holds the parts against the ordered swing weight.
func (h *Heft) balance(c club.Club, got club.Heft, wanted club.SwingWeight, u Units) {
	points := float64(got.SwingWeight - wanted)
	h.Points = &points
	tolerance := club.DefaultTolerances()[club.SpecSwingWeight]
	if math.Abs(points) <= tolerance+1e-9 {
		return
	}
	if math.Abs(points) <= tolerance+h.Unsure {
		if h.Verdict == addsUp {
			h.Verdict = nearly
		}
		h.Ways = h.ways(c, wanted, points, u)
		return
	}
	h.Verdict = doesNotAddUp
	way := map[bool]string{true: "above", false: "below"}[points > 0]
	text := fmt.Sprintf("With these parts the swing weight comes to %s, %.1f points %s the %s that is asked", got.SwingWeight,
		math.Abs(points), way, wanted)
	if _, err := c.HeadFor(wanted); err != nil {
		text += ", and no head could bring it there"
	} else if points > 0 {
		text += ", and weight does not come off a head by adding any"
	}
	h.Warnings = append(h.Warnings, text+".")
	h.Ways = h.ways(c, wanted, points, u)
}

// ways says what would bring the club to the wanted swing weight, one at a time.
func (h *Heft) ways(c club.Club, wanted club.SwingWeight, points float64, u Units) (out []string) {
	if m, err := c.HeadFor(wanted); err == nil {
		if d := m - c.HeadMass; d >= 0 {
			out = append(out, fmt.Sprintf("a head of %s, or %s added to it", grams(m), grams(d)))
		} else {
			out = append(out, fmt.Sprintf("a head of %s, %s lighter", grams(m), grams(-d)))
		}
	}
	if l, err := c.LengthFor(wanted); err == nil {
		s := u.Small()
		out = append(out, fmt.Sprintf("a length of %s (%s), which changes what was fitted", s.Text(l), s.With(s.SignedShort(l-c.Length))))
	}
	if points > 0 {
		if m, err := c.CounterweightFor(wanted, 0); err == nil {
			out = append(out, fmt.Sprintf("a counterweight of %s in the butt, which makes the whole club heavier", grams(m)))
		}
	}
	return out
}

func grams(kg float64) string { return figure.In("g", 1000, 1).Text(kg) }

// plain takes the advice for command lines off an error of the arithmetic.
func plain(err error) string {
	var in *club.InputError
	if errors.As(err, &in) {
		return strings.TrimSpace(in.Field + " " + in.Value + " " + in.Reason)
	}
	return err.Error()
}
