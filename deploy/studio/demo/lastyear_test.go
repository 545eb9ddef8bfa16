package demo

import (
	"io"
	"log/slog"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/vault"
	"fairlead/processors/hub/process"
	"fairlead/processors/visit"
)

// all reads a journal whole.
func all(t *testing.T, dir, bay string) (payloads [][]byte) {
	t.Helper()
	j, _, err := journal.Open(journal.Options{Dir: dir, Studio: "harbour-row", Bay: bay})
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	r := j.Read(j.ID(), 1)
	defer r.Close()
	for {
		e, ok, err := r.TryNext()
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			return payloads
		}
		payloads = append(payloads, e.Payload)
	}
}

// A demo that begins holds the visit of a year ago of the player who comes first,
// with all that was decided, and its screen names them.
func TestADemoBeginsAYearAgo(t *testing.T) {
	d := Demo{Dir: t.TempDir(), Seed: 1, log: slog.New(slog.DiscardHandler)}
	config, end, err := d.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer end()
	if !d.fresh {
		t.Error("an empty folder is no fresh demo")
	}
	if err := d.lastYear(t.Context()); err != nil {
		t.Fatal(err)
	}
	back := d.met[false]
	keys, err := vault.Open(vault.Beside(config.PeopleFile()))
	if err != nil {
		t.Fatal(err)
	}
	var opened, decided, words int
	shop := &visit.Log{}
	for _, payload := range all(t, config.ConsoleJournalDir(), process.ConsoleBay) {
		ev := &event.VisitEvent{}
		if err := proto.Unmarshal(payload, ev); err != nil {
			t.Fatal(err)
		}
		event.Texts(ev, func(text string) string {
			if words++; !event.IsSealed(text) {
				t.Errorf("%s keeps %q in clear", event.KindOf(ev), text)
			} else if keys.Open(text) == text {
				t.Errorf("%s is sealed and can't be opened", event.KindOf(ev))
			}
			return text
		})
		if shop.Add(ev); strings.HasPrefix(ev.Id, "demo-shop-") || strings.HasPrefix(ev.Id, "s-check-") {
			continue
		}
		if o := ev.GetSessionOpened(); o != nil && o.Player == back.ID && o.PoolingConsent && !o.Minor {
			opened++
		}
		if v := ev.GetVerdictGiven(); v.GetKind() == event.VerdictKind_VERDICT_BUILD && v.Build != nil {
			decided++
		}
		if ago := time.Since(time.Unix(0, ev.EffectiveUnixNs)); ev.Bay != "north" || ago < 360*24*time.Hour || ago > 366*24*time.Hour {
			t.Errorf("%s of %s, %v ago", event.KindOf(ev), ev.Bay, ago)
		}
	}
	if opened != 1 || decided != 1 {
		t.Errorf("%d sessions opened for %s, %d builds decided on", opened, back.Name, decided)
	}
	tl := shop.Timeline()
	shelf := visit.ShelfOf(map[string]*visit.Timeline{"north": tl})
	if orders := tl.Orders(); len(orders) != 1 || len(shelf.Parts()) < 9 || len(tl.Checked) != 27 {
		t.Fatalf("%d orders, %d parts, %d checks of bays", len(orders), len(shelf.Parts()), len(tl.Checked))
	} else if state, _ := orders[0].State(); state != event.OrderState_ORDER_DELIVERED || len(orders[0].Placed.Given.GetParts()) < 2 ||
		len(orders[0].Built) != len(orders[0].Placed.Given.GetClubs()) {
		t.Errorf("the order: %v of %v", state, orders[0].Placed.Given)
	}
	today, stopped := map[string]event.CheckJudgement{}, map[string]int{}
	for _, c := range tl.Checked {
		today[c.Bay] = c.Given.GetJudgement()
		if c.Given.GetJudgement() == event.CheckJudgement_CHECK_STOP {
			stopped[c.Bay]++
		}
	}
	for bay, j := range today {
		if j != event.CheckJudgement_CHECK_GO {
			t.Errorf("this morning in %s: %v", bay, j)
		}
	}
	if stopped["quay"] != 1 || len(stopped) > 1 {
		t.Errorf("bays that were stopped: %v", stopped)
	}
	if words < 5 {
		t.Errorf("%d words of people", words)
	}
	shots := 0
	for _, payload := range all(t, config.JournalDir("north"), "north") {
		e := &event.Entry{}
		if err := proto.Unmarshal(payload, e); err != nil {
			t.Fatal(err)
		}
		if len(e.Measures) > 0 && len(e.Raw) > 0 {
			shots++
		}
	}
	if shots < 40 {
		t.Errorf("%d shots", shots)
	}
	if screen := d.welcome(); !strings.Contains(screen, back.Name) || !strings.Contains(screen, d.LogFile()) ||
		strings.Count(screen, "\n") > 24 {
		t.Errorf("the screen is %q", screen)
	}
	w := NewWatch(config)
	if _, err := io.WriteString(w, `{"record":"line","bay":"quay","valid":true,"shot_id":"x"}`+"\n"); err != nil {
		t.Fatal(err)
	}
	if told := w.told(config.Bays); told != "1 (north 0, south 0, quay 1, pier 0), all but 1 on the page" {
		t.Error(told)
	}
}
