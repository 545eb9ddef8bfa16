package main

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/dispersion"
)

// parseMiss reads a miss as in left=15m.
func parseMiss(s string) (dispersion.Miss, error) {
	side, beyond, ok := strings.Cut(s, "=")
	if !ok {
		return dispersion.Miss{}, &usageError{fmt.Errorf("--miss %q: write a side and a distance, as in left=15m", s)}
	}
	v, err := unit.Parse(unit.Length, beyond)
	if err != nil {
		return dispersion.Miss{}, &usageError{fmt.Errorf("--miss %q: %w", s, err)}
	}
	m := dispersion.Miss{Side: dispersion.Side(strings.ToLower(strings.TrimSpace(side))), Beyond: v}
	switch m.Side {
	case dispersion.Left, dispersion.Right, dispersion.Short, dispersion.Long:
		return m, nil
	}
	return m, &usageError{fmt.Errorf("--miss %q: the side is one of left, right, short, long", s)}
}

// parseTarget reads a target as in 60mx30m (length by width, about the aim) or
// 20mx15m@5m,-3m (its centre 5 m beyond and 3 m left of the aim).
func parseTarget(flag, s string, elliptical bool) (dispersion.Target, error) {
	fail := func(err error) (dispersion.Target, error) {
		return dispersion.Target{}, &usageError{fmt.Errorf("--%s %q: %w; write length x width, as in 60mx30m or 20x15@5,-3", flag, s, err)}
	}
	t := dispersion.Target{Name: s, Elliptical: elliptical}
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
