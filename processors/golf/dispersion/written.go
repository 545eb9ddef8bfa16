package dispersion

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/unit"
)

// ParseMiss reads a miss as in left=15m.
func ParseMiss(s string) (Miss, error) {
	side, beyond, ok := strings.Cut(s, "=")
	if !ok {
		return Miss{}, fmt.Errorf("%q: write a side and a distance, as in left=15m", s)
	}
	v, err := unit.Parse(unit.Length, beyond)
	if err != nil {
		return Miss{}, fmt.Errorf("%q: %w", s, err)
	}
	m := Miss{Side: Side(strings.ToLower(strings.TrimSpace(side))), Beyond: v}
	switch m.Side {
	case Left, Right, Short, Long:
		return m, nil
	}
	return m, fmt.Errorf("%q: the side is one of left, right, short, long", s)
}

// ParseTarget reads a target as in 60mx30m (length by width, about the aim) or
// 20mx15m@5m,-3m (its centre 5 m beyond and 3 m left of the aim).
func ParseTarget(s string, elliptical bool) (Target, error) {
	fail := func(err error) (Target, error) {
		return Target{}, fmt.Errorf("%q: %w; write length x width, as in 60mx30m or 20x15@5,-3", s, err)
	}
	t := Target{Name: s, Elliptical: elliptical}
	size, at, moved := strings.Cut(s, "@")
	length, width, ok := strings.Cut(size, "x")
	if !ok {
		return fail(fmt.Errorf("no x between length and width"))
	}
	parts := []struct {
		text string
		into *float64
	}{{length, &t.Length}, {width, &t.Width}}
	if moved {
		along, across, ok := strings.Cut(at, ",")
		if !ok {
			return fail(fmt.Errorf("no comma between along and across"))
		}
		parts = append(parts, []struct {
			text string
			into *float64
		}{{along, &t.Along}, {across, &t.Across}}...)
	}
	for _, p := range parts {
		v, err := unit.Parse(unit.Length, p.text)
		if err != nil {
			return fail(err)
		}
		*p.into = v
	}
	if t.Length <= 0 || t.Width <= 0 {
		return fail(fmt.Errorf("length and width must be more than 0"))
	}
	return t, nil
}

// ParseGround reads misses, and targets that are rectangles and ellipses, as their
// flags write them.
func ParseGround(misses, targets, greens []string) (m []Miss, t []Target, err error) {
	for _, s := range misses {
		one, err := ParseMiss(s)
		if err != nil {
			return nil, nil, fmt.Errorf("--miss %w", err)
		}
		m = append(m, one)
	}
	for i, list := range [][]string{targets, greens} {
		for _, s := range list {
			one, err := ParseTarget(s, i == 1)
			if err != nil {
				return nil, nil, fmt.Errorf("--%s %w", []string{"target", "green"}[i], err)
			}
			t = append(t, one)
		}
	}
	return m, t, nil
}
