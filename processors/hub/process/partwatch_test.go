package process

import (
	"os"
	"path/filepath"
	"testing"
)

// flipInPart turns one bit of the data of a table's newest part.
func (b *bench) flipInPart(table string) {
	b.t.Helper()
	var dir string
	const newest = `SELECT path FROM system.parts WHERE active AND database = currentDatabase() AND table = ?
		ORDER BY rows DESC LIMIT 1`
	if err := b.store.Conn().QueryRow(b.t.Context(), newest, table).Scan(&dir); err != nil {
		b.t.Fatal(err)
	}
	name := filepath.Join(dir, "data.bin")
	data, err := os.ReadFile(name)
	if err != nil {
		b.t.Fatal(err)
	}
	data[len(data)/2] ^= 8
	if err := os.WriteFile(name, data, 0o600); err != nil {
		b.t.Fatal(err)
	}
}

// A bit flips in a part of each table while the studio works. Nobody's hand is
// needed: the parts are set aside, what they held comes again, and shots and
// events go on being stored.
func TestABitFlipsInTheStore(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(20)
	z.hit(20)
	b.untilStored("the trial has twenty", func() bool { return b.trialN("t1") == 20 })
	z.arrived()
	for _, table := range []string{"entries", "visit_events", "trials"} {
		before := b.metric("fairlead_store_damaged_parts_total", table)
		b.flipInPart(table)
		y.hit(5)
		z.hit(5)
		b.until("the damaged part of "+table+" is set aside", func() bool {
			// Somebody asks: rows that nobody reads are found by the weekly scrub.
			b.store.Conn().Exec(t.Context(), "SELECT * FROM "+table+" FORMAT Null")
			return b.metric("fairlead_store_damaged_parts_total", table) > before
		})
		found(t, 15)
		b.whole()
	}
	y.hit(1)
	b.untilStored("the trial has all", func() bool { return b.trialN("t1") == 36 })
	b.whole()
	healed(t, 15)
}
