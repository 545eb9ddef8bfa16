package evidence

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/dispersion"
)

// quantityOf is the kind of value that an outcome's change is.
func quantityOf(n glossary.Name) unit.Quantity {
	switch n.Unit() {
	case "deg":
		return unit.Angle
	case "rpm":
		return unit.Rotation
	case "m/s":
		return unit.Speed
	case "m":
		return unit.Length
	}
	return unit.Ratio
}

// ParsePrior reads NAME and MEAN:SD of a prior that somebody states.
func ParsePrior(name, value string) (glossary.Name, Prior, error) {
	n, err := glossary.ParseName(name)
	if err != nil {
		return n, Prior{}, err
	}
	mean, sd, ok := strings.Cut(value, ":")
	if !ok {
		return n, Prior{}, fmt.Errorf("write the mean and the sd, as in %s=2:4", n)
	}
	p := Prior{Source: "given on the command line"}
	if p.Mean, err = unit.Parse(quantityOf(n), mean); err == nil {
		p.SD, err = unit.Parse(quantityOf(n), sd)
	}
	if err == nil && !(p.SD > 0) {
		err = errors.New("the sd must be more than 0")
	}
	return n, p, err
}

// ReadPriors reads priors of {"carry": {"mean": 2, "sd": 4, "source": "…"}} in stored
// units; path is where they stand, and their source where they name none.
func ReadPriors(text []byte, path string, into map[glossary.Name]Prior) error {
	var file map[string]struct {
		Mean   float64 `json:"mean"`
		SD     float64 `json:"sd"`
		Source string  `json:"source"`
		Doubt  float64 `json:"doubt"` // as a verdict's promise keeps it
	}
	if err := json.Unmarshal(text, &file); err != nil {
		return fmt.Errorf("priors %s: %w; write {\"carry\": {\"mean\": 2, \"sd\": 4, \"source\": \"…\"}}", path, err)
	}
	for name, p := range file {
		n, err := glossary.ParseName(name)
		if err != nil {
			return fmt.Errorf("priors %s: %w", path, err)
		}
		if !(p.SD > 0) {
			return fmt.Errorf("priors %s: the sd of %s is %g; it must be more than 0", path, n, p.SD)
		}
		if !(p.Doubt >= 0 && p.Doubt < 1) {
			return fmt.Errorf("priors %s: the doubt of %s is %g; it must be 0 or more and less than 1", path, n, p.Doubt)
		}
		if p.Source == "" {
			p.Source = path
		}
		into[n] = Prior{Mean: p.Mean, SD: p.SD, Source: p.Source, Doubt: p.Doubt}
	}
	return nil
}

// ParseGoals reads OUTCOME=higher, OUTCOME=lower, or OUTCOME=VALUE for a target.
func ParseGoals(list []string) (map[glossary.Name]glossary.Goal, error) {
	out := map[glossary.Name]glossary.Goal{}
	for _, s := range list {
		name, value, _ := strings.Cut(s, "=")
		n, err := glossary.ParseName(name)
		if err != nil {
			return nil, fmt.Errorf("goal %q: %w", s, err)
		}
		switch value {
		case "higher", "lower":
			out[n] = glossary.Goal{Way: glossary.Way(value)}
			continue
		}
		if n.Tightness() {
			return nil, fmt.Errorf("goal %q: a spread has no target; lower is better", s)
		}
		target, err := unit.Parse(quantityOf(n), value)
		if err != nil {
			return nil, fmt.Errorf("goal %q: %w; or write higher or lower", s, err)
		}
		out[n] = glossary.Goal{Way: glossary.Toward, Target: target}
	}
	return out, nil
}

// ParseAreaPrior reads NU,VAR_CARRY,VAR_OFFLINE in m²; nothing is none.
func ParseAreaPrior(s string) (*dispersion.AreaPrior, error) {
	if s == "" {
		return nil, nil
	}
	parts := strings.Split(s, ",")
	var v [3]float64
	ok := len(parts) == 3
	for i := 0; ok && i < 3; i++ {
		var err error
		v[i], err = strconv.ParseFloat(strings.TrimSpace(parts[i]), 64)
		ok = err == nil && v[i] > 0
	}
	if !ok || v[0] <= 1 {
		return nil, fmt.Errorf("%q: write NU,VAR_CARRY,VAR_OFFLINE with NU above 1 and variances in m², as in 4,20,10", s)
	}
	return &dispersion.AreaPrior{Nu: v[0], Psi: [3]float64{v[1], 0, v[2]}}, nil
}
