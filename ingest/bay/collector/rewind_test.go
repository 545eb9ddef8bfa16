package collector

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// A bit flips in the journal, in a line that was not sent yet: the device's file is
// read again from before it, and no shot is missing. The last line of the journal
// is hit as well, after which nothing stands that would show it.
func TestALineLostBeforeItWasSentIsReadAgain(t *testing.T) {
	for _, hit := range []string{"25,145.5", "30,150.5"} {
		t.Run("hit "+hit[:2], func(t *testing.T) {
			b := newBay(t)
			stop := b.collect("journal", "m1")
			b.write(1, 20)
			b.entries(20)
			b.broker.Stop()
			b.write(21, 30)
			segment := func() (string, []byte) {
				files, err := filepath.Glob(filepath.Join(b.dir, "journal", "*.journal"))
				if err != nil || len(files) == 0 {
					t.Fatalf("%v, %v", files, err)
				}
				text, err := os.ReadFile(files[len(files)-1])
				if err != nil {
					t.Fatal(err)
				}
				return files[len(files)-1], text
			}
			proof.Until(t, "all is in the journal", func() bool { _, text := segment(); return bytes.Contains(text, []byte("30,150.5")) })
			stop()
			file, text := segment()
			text[bytes.LastIndex(text, []byte(hit))] ^= 1
			if err := os.WriteFile(file, text, 0o600); err != nil {
				t.Fatal(err)
			}
			b.startBroker()
			b.collect("journal", "m1")
			b.allInLog(30)
		})
	}
}

// allInLog waits until the log holds the device's shots 1 to n.
func (b *bay) allInLog(n int) {
	b.t.Helper()
	there := map[string]bool{}
	b.eachInLog(func() (string, bool) {
		return fmt.Sprintf("%d of %d shots are in the log", len(there), n), len(there) >= n
	},
		func(e *event.Entry) { there[e.DeviceShotId] = true })
}
