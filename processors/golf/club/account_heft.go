package club

import (
	"fmt"
	"io"
)

// accountHeft is how heavy one club is; keys carry the unit.
type accountHeft struct {
	Mass       float64 `json:"mass_kg"`
	Balance    float64 `json:"balance_m"`
	Moment     float64 `json:"moment_kgm"`
	SwingText  string  `json:"swing_weight"`
	SwingPoint float64 `json:"swing_weight_points_above_a0"`
	Inertia    float64 `json:"inertia_butt_kgm2,omitempty"`
}

// HeftAccount is a club's heft as it is told, with what a change does to it and the
// ways to a target.
type HeftAccount struct {
	accountHeft
	PerPoint *accountPoint  `json:"per_point,omitempty"`
	After    *accountHeft   `json:"after,omitempty"`
	Points   *float64       `json:"change_points,omitempty"`
	Target   *accountTarget `json:"target,omitempty"`
}

// accountPoint is what a point of swing weight takes of each part.
type accountPoint struct {
	Head   float64 `json:"head_kg"`
	Shaft  float64 `json:"shaft_kg"`
	Grip   float64 `json:"grip_kg"`
	Length float64 `json:"length_m"`
}

// accountTarget holds the ways to a wanted swing weight; a way that no real part
// could go is left out.
type accountTarget struct {
	SwingWeight   string   `json:"swing_weight"`
	Head          *float64 `json:"head_kg,omitempty"`
	Length        *float64 `json:"length_m,omitempty"`
	Counterweight *float64 `json:"butt_weight_kg,omitempty"`
}

// TellHeft tells of a club made of parts, of what a change does when there is one,
// and of the ways to a wanted swing weight, such as D3, when one is named.
func TellHeft(model Club, ch Change, changed bool, to string) (HeftAccount, error) {
	e, err := model.Effect(ch)
	if err != nil {
		return HeftAccount{}, err
	}
	p, err := model.PerPoint()
	if err != nil {
		return HeftAccount{}, err
	}
	out := HeftAccount{accountHeft: tellHeft(e.Before), PerPoint: &accountPoint{p.Head, p.Shaft, p.Grip, p.Length}}
	if changed {
		after := tellHeft(e.After)
		out.After, out.Points = &after, &e.Points
	}
	if to == "" {
		return out, nil
	}
	want, err := ParseSwingWeight(to)
	if err != nil {
		return HeftAccount{}, err
	}
	model = model.With(ch)
	t := accountTarget{SwingWeight: want.String()}
	if v, err := model.HeadFor(want); err == nil {
		t.Head = &v
	}
	if v, err := model.LengthFor(want); err == nil {
		t.Length = &v
	}
	if v, err := model.CounterweightFor(want, 0); err == nil {
		t.Counterweight = &v
	}
	out.Target = &t
	return out, nil
}

func tellHeft(h Heft) accountHeft {
	return accountHeft{h.Mass, h.Balance, h.Moment, h.SwingWeight.String(), float64(h.SwingWeight), h.Inertia}
}

// TellMeasured tells of a whole club by its mass in kg and its balance point from
// the butt in m.
func TellMeasured(mass, balance float64) (HeftAccount, error) {
	s, err := MeasuredSwingWeight(mass, balance)
	if err != nil {
		return HeftAccount{}, err
	}
	return HeftAccount{accountHeft: accountHeft{mass, balance, s.Moment(), s.String(), float64(s), 0}}, nil
}

// WriteText tells of it in words.
func (o HeftAccount) WriteText(w io.Writer) error {
	line := func(name string, h accountHeft) {
		fmt.Fprintf(w, "%-14s %-6s %.1f g, balances %.2f in (%.3f m) from the butt", name, h.SwingText, h.Mass*1e3, h.Balance/Inch, h.Balance)
		if h.Inertia > 0 {
			fmt.Fprintf(w, ", inertia %.0f kg·cm²", h.Inertia*1e4)
		}
		fmt.Fprintln(w)
	}
	line("swing weight", o.accountHeft)
	if o.After != nil {
		line("changed", *o.After)
		fmt.Fprintf(w, "%-14s %+.1f points, inertia %+.2f %%\n", "difference", *o.Points, 100*(o.After.Inertia/o.Inertia-1))
	}
	if p := o.PerPoint; p != nil {
		fmt.Fprintf(w, "%-14s head %+.1f g, shaft %+.1f g, grip %+.1f g, or length %+.2f in\n", "a point up is", p.Head*1e3, p.Shaft*1e3,
			p.Grip*1e3, p.Length/Inch)
	}
	if t := o.Target; t != nil {
		fmt.Fprintf(w, "for %s, one of:\n", t.SwingWeight)
		if t.Head != nil {
			fmt.Fprintf(w, "  a head of %.1f g\n", *t.Head*1e3)
		}
		if t.Length != nil {
			fmt.Fprintf(w, "  a length of %.2f in (%.4f m), the shaft cut for it\n", *t.Length/Inch, *t.Length)
		}
		if t.Counterweight != nil {
			fmt.Fprintf(w, "  %.1f g at the butt (heavier to lift, no lighter to swing)\n", *t.Counterweight*1e3)
		}
		if t.Head == nil && t.Length == nil && t.Counterweight == nil {
			fmt.Fprintln(w, "  no single part reaches it: change two")
		}
	}
	return nil
}
