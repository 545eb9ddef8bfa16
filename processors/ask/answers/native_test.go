package answers

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/sim"
)

// TestBlocksHoldWhatTheDriverScans reads the same trials both ways.
func TestBlocksHoldWhatTheDriverScans(t *testing.T) {
	f, _, _ := planted(t, sim.FleetOptions{Players: 60, Seed: 5, Left: 0.2})
	mark, err := f.Refresh(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []reading{{}, {wide: true, describing: true},
		{only: &fleet.Design{Attributes: []fleet.Attribute{fleet.Loft}, Traits: []string{"speed_mps"}}, outcome: "carry"}} {
		collect := func(blocks bool) (all []string) {
			w := want
			w.blocks = blocks
			from := "fleet_trials WHERE " + (Filter{}).where(mark.Snapshot) + want.and()
			if err := f.trials(t.Context(), from, "player, category, session, number, part", w, func(trial *fleet.Trial) error {
				all = append(all, strings.Join([]string{trial.Player, trial.Session, trial.Studio, trial.Ball}, " ")+" "+text(trial))
				return nil
			}); err != nil {
				t.Fatal(err)
			}
			return all
		}
		blocks, scanned := collect(true), collect(false)
		if len(blocks) < 100 || !reflect.DeepEqual(blocks, scanned) {
			t.Errorf("%+v: %d trials in blocks, %d scanned, or they differ", want, len(blocks), len(scanned))
		}
	}
	stop := errors.New("enough")
	if err := f.each(t.Context(), mark.Snapshot, Filter{}, reading{}, func(*fleet.Trial) error { return stop }); err != stop {
		t.Errorf("stopped by the reader: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	if err := f.each(ctx, mark.Snapshot, Filter{}, reading{}, func(*fleet.Trial) error { cancel(); return nil }); !errors.Is(err,
		context.Canceled) && err != nil {
		t.Errorf("cancelled: %v", err)
	}
	if err := f.each(t.Context(), mark.Snapshot, Filter{Bands: []Band{{Trait: "no_such_trait", Low: new(float64)}}}, reading{},
		func(*fleet.Trial) error { return nil }); err == nil {
		t.Error("a statement that fails gave no error")
	}
}

func text(trial *fleet.Trial) string {
	var b strings.Builder
	v := reflect.ValueOf(*trial)
	for i := range v.NumField() {
		b.WriteString(strings.ReplaceAll(strings.TrimSpace(fmt.Sprint(v.Field(i).Interface())), "\n", " ") + ";")
	}
	return b.String()
}

// FuzzBlock feeds broken answers: they end in an error, never in a panic.
func FuzzBlock(f *testing.F) {
	good := []byte("\x03\x02\x01a\x07Float64\x00\x00\x00\x00\x00\x00\xf0\x3f\x00\x00\x00\x00\x00\x00\x00\x40" +
		"\x01b\x06String\x02xy\x00\x01c\x04Bool\x01\x00")
	f.Add(good)
	for cut := range good {
		f.Add(good[:cut])
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		var x float64
		var s string
		var flag bool
		n, err := newNative([]string{"a", "b", "c"}, []any{&x, &s, &flag})
		if err != nil {
			t.Fatal(err)
		}
		r, b := newBlockReader(iotest.HalfReader(bytes.NewReader(in))), &nativeBlock{}
		for {
			if err := n.block(r, b); err != nil {
				if bytes.Equal(in, good) && !errors.Is(err, io.EOF) {
					t.Fatal(err)
				}
				if len(in) > 0 && len(in) < len(good) && bytes.HasPrefix(good, in) && !errors.Is(err, io.ErrUnexpectedEOF) {
					t.Fatalf("cut after %d bytes: %v", len(in), err)
				}
				return
			}
			for i := range b.rows {
				n.row(b, i)
			}
			if bytes.Equal(in, good) && (x != 2 || s != "" || flag) {
				t.Fatalf("the last row is %v %q %v", x, s, flag)
			}
		}
	})
}
