package process

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
)

// blocks lists the message blocks of a stream.
func (b *bench) blocks(name string) []string {
	b.t.Helper()
	files, err := filepath.Glob(filepath.Join(b.broker.dir, "jetstream", "*", "streams", name, "msgs", "*.blk"))
	if err != nil || len(files) == 0 {
		b.t.Fatalf("no blocks of %s below %s: %v", name, b.broker.dir, err)
	}
	return files
}

// Bits of the log's blocks flip, and blocks end early, while the broker is
// down. Whatever it makes of that, the store ends complete, the flow goes on,
// and what the log lost it holds again.
func TestADamagedLogHurtsNobody(t *testing.T) {
	t.Parallel()
	seed := proof.Seed(t, 8)
	rng := rand.New(rand.NewPCG(seed, seed))
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.day()
	z.day()
	b.whole()
	rounds, damaged := proof.Cases(2, 80), 0
	for round := range rounds {
		seq := b.lastInLog(stream.Shots)
		b.until("the hub remembers what it saw of the log", func() bool {
			marks, err := b.store.LogMarks(t.Context(), b.studio)
			return err == nil && marks[stream.Shots].Seq >= seq
		})
		b.broker.kill()
		name := []string{stream.Shots, stream.Visits}[round%2]
		files := b.blocks(name)
		file := files[rng.IntN(len(files))]
		text, err := os.ReadFile(file)
		if err != nil || len(text) == 0 {
			t.Fatalf("%s: %d bytes, %v", file, len(text), err)
		}
		what := ""
		if (round+round/2)%2 == 0 {
			for range 1 + rng.IntN(3) {
				at := rng.IntN(len(text))
				text[at] ^= 1 << rng.IntN(8)
				what += fmt.Sprintf(" flipped at %d of %d,", at, len(text))
			}
		} else {
			text = text[:rng.IntN(len(text))]
			what = fmt.Sprintf(" cut at %d", len(text))
		}
		if err := os.WriteFile(file, text, 0o600); err != nil {
			t.Fatal(err)
		}
		y.hit(3) // the bay goes on meanwhile
		b.broker.start()
		y.hit(3)
		z.hit(3)
		z.note(excluded("sky", z.ids(2, 2)))
		b.whole()
		b.until("the log is filled in", func() bool {
			return b.metric("fairlead_log_unfilled_journals", "") == 0 && b.logLacks() == ""
		})
		t.Logf("%s:%s: alarms %g", name, what, b.metric("fairlead_log_set_back_total", ""))
		damaged++
	}
	proof.Record(t, "damaged_log", map[string]any{"rounds": damaged, "seed": seed, "shots": y.lines + z.lines,
		"alarms": b.metric("fairlead_log_set_back_total", "")})
}
