package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/flight/window"
)

// wellFormed reads the whole picture as XML and counts its elements.
func wellFormed(t *testing.T, svg []byte) map[string]int {
	t.Helper()
	count := map[string]int{}
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok {
			count[e.Name.Local]++
		}
	}
	if count["svg"] != 1 || count["title"] < 1 {
		t.Errorf("elements: %v", count)
	}
	for _, bad := range []string{"NaN", "Inf", "<script", "http://www.w3.org/1999/xlink"} {
		if bytes.Contains(svg, []byte(bad)) {
			t.Errorf("the picture holds %q", bad)
		}
	}
	return count
}

func TestTrajectories(t *testing.T) {
	path, err := flight.Path(flight.Launch{BallSpeed: 70, Angle: 12, SpinRate: 2700, SpinAxis: 6}, flight.Standard(), 40)
	if err != nil {
		t.Fatal(err)
	}
	for n, paths := range map[int]int{0: 0, 1: 2, 3: 6, 20: 40} {
		var shots []flight.Flown
		for range n {
			shots = append(shots, flight.Flown{Name: `<b>"A" & co`, Path: path})
		}
		for _, u := range []Units{Metric, Yards} {
			var a, b bytes.Buffer
			if err := Trajectories(shots, u).Write(&a); err != nil {
				t.Fatal(err)
			}
			if got := wellFormed(t, a.Bytes())["path"]; got != paths {
				t.Errorf("%d shots: %d paths", n, got)
			}
			if err := Trajectories(shots, u).Write(&b); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Error("the same shots give another picture")
			}
		}
	}
	if err := Trajectories([]flight.Flown{{Name: "none"}}, Metric).Write(io.Discard); err != nil {
		t.Error(err)
	}
}

func TestWindow(t *testing.T) {
	for _, g := range []window.Goal{window.Carry, window.Green} {
		w, err := window.Find(window.Player{BallSpeed: 60, Attack: -2, Category: "driver", Launch: 14, Spin: 3000}, g, flight.Standard())
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := Window(w, Yards).Write(&b); err != nil {
			t.Fatal(err)
		}
		count := wellFormed(t, b.Bytes())
		if count["circle"] != 2 || count["rect"] < 50 {
			t.Errorf("elements: %v", count)
		}
		if !strings.Contains(b.String(), "yd") || strings.Contains(b.String(), " m,") {
			t.Error("the picture does not keep to yards")
		}
	}
}

// A writer that fails must be heard of.
func TestWriteErrorIsReturned(t *testing.T) {
	if err := Trajectories(nil, Metric).Write(failing{}); !errors.Is(err, errFull) {
		t.Errorf("got %v", err)
	}
}

type failing struct{}

var errFull = errors.New("no space left")

func (failing) Write([]byte) (int, error) { return 0, errFull }
