package console

import (
	"bufio"
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fairlead/deploy/proof"
)

// paints notes when each shot of the page's list was first painted: the frame after its
// line came has begun, and what it draws is handed over.
const paints = `(() => {
	const ids = () => [...document.querySelectorAll('#part-shots li input[id^=s-]')].map((x) => x.value);
	const known = new Set(ids());
	window.painted = {};
	new MutationObserver(() => {
		const fresh = ids().filter((id) => !known.has(id));
		for (const id of fresh) known.add(id);
		if (fresh.length) requestAnimationFrame(() => {
			const after = new MessageChannel();
			after.port1.onmessage = () => { for (const id of fresh) painted[id] = performance.timeOrigin + performance.now(); };
			after.port2.postMessage(0);
		});
	}).observe(document.getElementById('part-shots'), { childList: true, subtree: true });
	return true;
})()`

// TestPainted measures, for make bench, how long after its device wrote a line a shot is
// painted on the page of a bay: FAIRLEAD_PAINTED is the folder of a demo that runs,
// FAIRLEAD_PAINTED_URL its console. It records and judges nothing: what is quick is a
// matter of the machine.
func TestPainted(t *testing.T) {
	folder, address := os.Getenv("FAIRLEAD_PAINTED"), os.Getenv("FAIRLEAD_PAINTED_URL")
	if folder == "" || address == "" {
		t.Skip("painting is measured by make bench")
	}
	r := &rig{t: t, url: address}
	var took []float64
	for _, bay := range []string{"south", "quay"} {
		ctx := r.browse(t, "/bays/"+bay)
		eval[bool](t, ctx, paints)
		proof.Pause(t, 20*time.Second)
		painted := eval[map[string]float64](t, ctx, `painted`)
		do(t, ctx, chromedp.Navigate("about:blank"))
		for id, at := range written(t, filepath.Join(folder, "truth.ndjson")) {
			if p := painted[id]; p > 0 {
				took = append(took, p-at)
			}
		}
	}
	if len(took) == 0 {
		t.Fatal("no shot was painted: does the demo hit in south and quay?")
	}
	slices.Sort(took)
	at := func(q float64) float64 { return took[min(int(q*float64(len(took))), len(took)-1)] }
	t.Logf(`"painted":%d "p50_painted_ms":%.1f "p99_painted_ms":%.1f`, len(took), at(.5), at(.99))
}

// written is when the devices wrote their valid lines, Unix milliseconds by shot id.
func written(t *testing.T, truth string) map[string]float64 {
	t.Helper()
	text, err := os.ReadFile(truth)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for lines := bufio.NewScanner(bytes.NewReader(text)); lines.Scan(); {
		var l struct {
			Record  string
			ID      string `json:"shot_id"`
			Written int64  `json:"written_unix_ns"`
			Valid   bool
		}
		if json.Unmarshal(lines.Bytes(), &l) == nil && l.Record == "line" && l.Valid {
			if _, seen := out[l.ID]; !seen {
				out[l.ID] = float64(l.Written) / 1e6
			}
		}
	}
	return out
}
