package guess

import (
	"testing"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/bay/sample"
)

// FuzzDraft gives any bytes as a device's file: an error, or a map that can be used.
func FuzzDraft(f *testing.F) {
	f.Add([]byte("No,Ball Speed (mph),Carry (yd)\n1,118.4,164.1\n2,120,166\n"))
	f.Add([]byte(`{"shots":[{"speed":52.9,"carry":150.2}]}`))
	f.Add([]byte("<shots><shot speed=\"52.9\"/></shots>"))
	f.Add([]byte("Shot: 1\nBall: 118.4 mph\n\nShot: 2\nBall: 120 mph\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := sample.Read([]sample.File{{Name: "f.csv", Data: data}})
		if err != nil {
			return
		}
		p, err := Draft(table, "alder", map[string]string{})
		if err != nil {
			return
		}
		if _, err := feed.ParseMap("drafted", []byte(p.Map)); err != nil {
			t.Fatalf("the drafted map can't be used: %v\n%s", err, p.Map)
		}
	})
}
