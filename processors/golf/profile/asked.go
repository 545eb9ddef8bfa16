package profile

import (
	"io"

	"fairlead/ingest/contract/glossary"
)

// Asked is what is asked of a visit's baseline shots, and of a later visit's.
type Asked struct {
	Category glossary.Category
	Left     bool
	Half     string   // use only one half of the shots, a or b; empty: all
	Differs  Setting  // what else differs at the later visit
	Builds   [2]Build // that were hit; what the later one leaves open is the first's
	Adjust   bool     // to the category's reference build
}

// Told is a swing, or two and what changed.
type Told struct {
	visits  []Profile
	changes []Change
	read    []Implication
	differs Setting
}

// Add reads a visit's shots.
func (t *Told) Add(in io.Reader, name string, a Asked) error {
	p, err := ReadProfile(in, name, Options{Category: a.Category, Left: a.Left}, a.Half)
	if err != nil {
		return err
	}
	if a.Adjust {
		b := a.Builds[0]
		if len(t.visits) > 0 {
			b = a.Builds[1].or(b)
		}
		if p, err = p.Adjust(b, Reference(a.Category)); err != nil {
			return err
		}
	}
	t.visits = append(t.visits, p)
	if len(t.visits) < 2 {
		return nil
	}
	if t.changes, err = Compare(t.visits[0], t.visits[1], a.Differs, nil); err != nil {
		return err
	}
	t.read, t.differs = Imply(a.Category, t.changes, a.Builds[0]), a.Differs
	return nil
}

// or takes what is open from another build.
func (b Build) or(other Build) Build {
	for _, o := range []struct {
		to   *Opt
		from Opt
	}{{&b.Length, other.Length}, {&b.Loft, other.Loft}, {&b.Lie, other.Lie}} {
		if !o.to.Known {
			*o.to = o.from
		}
	}
	return b
}

// Comparison says whether two visits are compared.
func (t *Told) Comparison() bool { return len(t.visits) == 2 }

// Profile is the account of the one visit.
func (t *Told) Profile() Account { return t.visits[0].Account() }

// Changes is the account of a comparison.
func (t *Told) Changes() ComparisonAccount { return TellComparison(t.visits, t.changes, t.read) }

// WriteText writes the swing, or what changed.
func (t *Told) WriteText(w io.Writer) error {
	if t.Comparison() {
		return WriteChanges(w, t.changes, t.read, t.differs)
	}
	return t.visits[0].WriteText(w)
}
