package order

import (
	"fmt"
	"math"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

// heft is the club that was hit by its weights. Its measured swing weight holds
// all that the arithmetic can't know (where the shaft balances, the ferrule, the
// epoxy); a club like it is planned by the difference alone.
type heft struct {
	missing []Part
	filled  Part
	model   club.Club
	reads   club.Heft // by the arithmetic
	moment  float64   // kg·m as measured or stated; the arithmetic's where neither
	weighed bool      // the swing weight was measured
	rest    float64   // kg beside head, shaft and grip
}

const (
	// balanceOff is by how much of its length a shaft's balance point may lie away
	// from the middle that is assumed.
	balanceOff = 0.03
	// reading is how far a swing weight scale's reading may be off, in points.
	reading = 0.25
)

func newHeft(hit map[Part]Known) heft {
	var h heft
	masses := map[Part]float64{}
	sum := 0.0
	for _, p := range []Part{Head, Shaft, Grip} {
		if k, ok := hit[p]; ok {
			masses[p] = k.Number
			sum += k.Number
		} else {
			h.missing = append(h.missing, p)
		}
	}
	total, weighed := hit[Total]
	if len(h.missing) == 1 && weighed {
		h.filled, h.missing = h.missing[0], nil
		masses[h.filled] = total.Number - sum
		sum = total.Number
	}
	if weighed {
		h.rest = max(0, total.Number-sum)
	}
	length, ok := hit[Length]
	if !ok {
		h.missing = append(h.missing, Length)
	}
	if len(h.missing) > 0 {
		return h
	}
	h.model = club.Club{Length: length.Number, HeadMass: masses[Head], ShaftMass: masses[Shaft], GripMass: masses[Grip]}
	reads, err := h.model.Heft()
	if err != nil {
		h.missing = append(h.missing, Head) // no such club: there is nothing to plan from
		return h
	}
	h.reads, h.moment = reads, reads.Moment
	if k, ok := hit[SwingWeight]; ok {
		h.moment, h.weighed = k.Number, k.Measured
	}
	return h
}

// weigh fills in what a club weighs and reads: its swing weight is the one of
// the club that was hit, and the head follows; where the head is fixed, the
// swing weight follows.
func (h heft) weigh(out *Row, a Asked, set func(Part, float64, string)) {
	want := h.moment
	if k, ok := a.Hit[SwingWeight]; ok {
		want = k.Number
	}
	why := "as the club that was hit"
	if out.Category == glossary.Wedge && a.Category != glossary.Wedge && a.Rules.WedgePoints != 0 {
		want += a.Rules.WedgePoints * club.Point
		why = fmt.Sprintf("%+g points for a wedge", a.Rules.WedgePoints)
	}
	if len(h.missing) > 0 {
		if _, ok := a.Hit[SwingWeight]; ok {
			set(SwingWeight, want, why)
		}
		h.known(out, a, set)
		return
	}
	length, _ := out.Number(Length)
	c := h.model.With(club.Change{Length: length - h.model.Length})
	set(Shaft, c.ShaftMass, "the same shaft, cut to length")
	set(Grip, c.GripMass, "the same grip")
	c.ShaftMass, _ = out.Number(Shaft)
	c.GripMass, _ = out.Number(Grip)
	arm := length - club.Fulcrum
	// what this club reads with the head that was hit
	now := h.moment + momentOf(c) - h.reads.Moment
	head, headFixed := out.Number(Head)
	asked, swingFixed := out.Number(SwingWeight)
	if swingFixed {
		want = asked
	}
	if !headFixed {
		head = h.model.HeadMass + (want-now)/arm
		set(Head, head, "what brings it to its swing weight")
	}
	forecast := now + (head-h.model.HeadMass)*arm
	if !swingFixed {
		if headFixed {
			why = "what the fixed head brings"
		}
		set(SwingWeight, forecast, why)
	}
	f := out.Figures[SwingWeight]
	f.Unsure = h.unsure(c)
	out.Figures[SwingWeight] = f
	out.Rest = h.rest
	set(Total, head+c.ShaftMass+c.GripMass+h.rest, "sum of the parts")
}

// Forecast is the moment (kg·m) that a row's parts make by the club that was
// hit; ok is false where a weight is not known.
func (h heft) forecast(r Row) (moment float64, ok bool) {
	if len(h.missing) > 0 {
		return 0, false
	}
	length, ok := r.Number(Length)
	head, ok2 := r.Number(Head)
	if !ok || !ok2 {
		return 0, false
	}
	c := h.model.With(club.Change{Length: length - h.model.Length})
	c.ShaftMass, _ = r.Number(Shaft)
	c.GripMass, _ = r.Number(Grip)
	c.HeadMass = head
	return h.moment + momentOf(c) - h.reads.Moment, true
}

func momentOf(c club.Club) float64 {
	got, err := c.Heft()
	if err != nil {
		return math.NaN() // refused as out of range
	}
	return got.Moment
}

// unsure is how far a forecast may be off, in points: of a club that was
// weighed, the reading and what the shaft's balance does to the difference; of
// one that was not, what it does to all of it.
func (h heft) unsure(c club.Club) float64 {
	whole := func(c club.Club) float64 { return c.ShaftMass * (c.Length - hosel) * balanceOff / club.Point }
	if !h.weighed {
		return math.Hypot(whole(c), reading)
	}
	return math.Hypot(math.Abs(whole(c)-whole(h.model)), reading)
}

// known takes over what is known of the weights of the club that was hit for that
// club itself, where too little is known to plan any other. What is cut from its
// shaft is in no weight of it that is known.
func (h heft) known(out *Row, a Asked, set func(Part, float64, string)) {
	if !out.Anchor {
		return
	}
	parts := []Part{Head, Grip}
	length, _ := out.Number(Length)
	if hit, ok := a.Hit[Length]; ok && math.Abs(length-hit.Number) < 1e-9 {
		parts = append(parts, Shaft, Total)
	}
	for _, p := range parts {
		if k, ok := a.Hit[p]; ok {
			set(p, k.Number, "as the club that was hit")
		}
	}
}
