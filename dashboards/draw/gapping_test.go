package draw

import (
	"bytes"
	"testing"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

func TestGapping(t *testing.T) {
	full := []club.Position{
		{Club: `<&"driver`, Category: glossary.Driver, Carry: club.Sample{N: 8, Mean: 225, SD: 6}},
		{Club: "6 iron", Category: glossary.Iron, Carry: club.Sample{N: 3, Mean: 160, SD: 4}},
		{Club: "54", Category: glossary.Wedge, Swing: "half", Carry: club.Sample{N: 8, Mean: 60, SD: 3}},
		{Club: "54", Category: glossary.Wedge, Carry: club.Sample{N: 8, Mean: 95, SD: 3}},
	}
	for _, bag := range [][]club.Position{full, nil} {
		g, err := club.NewGapping(bag, club.DefaultGapOptions())
		if err != nil {
			t.Fatal(err)
		}
		for _, imperial := range []bool{true, false} {
			var b bytes.Buffer
			if err := Gapping(g, imperial).Write(&b); err != nil {
				t.Fatal(err)
			}
			wellFormed(t, b.Bytes())
		}
	}
}
