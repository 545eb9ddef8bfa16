package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fairlead/deploy/proof"
	"fairlead/processors/hub/watch"
)

// fault is something that goes wrong in a running studio, and what is to be said.
type fault struct {
	name        string
	where, what string   // as the page and the message name it
	words       []string // that its text must hold
	also        []string // "where, what" of what may rightly be said beside it
	unseen      bool     // on the page, which is what hangs: it shows in the watch's list
	cause, mend func()
}

// measured is what a fault showed of itself; seconds since it was caused.
type measured struct {
	Console  float64 `json:"console_s"`
	Told     float64 `json:"told_s"`
	Resolved float64 `json:"resolved_s"` // since it was mended
	Said     string  `json:"said"`
}

// happen causes faults at once, in different places, and waits until each one is
// named on the console's page and to people, mends it, and waits until it is over.
// Nothing but them may be named.
func (r *troubled) happen(faults ...fault) {
	r.t.Helper()
	type course struct {
		caused, mended time.Time
		m              measured
		done           bool
	}
	courses := make([]course, len(faults))
	expected := func(a watch.Alarm) bool {
		return a.What == "restarted" && slices.Contains(r.lives, a.Where) || slices.ContainsFunc(faults, func(f fault) bool {
			return f.where == a.Where && f.what == a.What || slices.Contains(f.also, a.Where+", "+a.What)
		})
	}
	for i, f := range faults {
		courses[i].caused = time.Now()
		f.cause()
	}
	blamed := map[string]bool{}
	left := func() (out []string) {
		for i, f := range faults {
			if c := &courses[i]; !c.done {
				out = append(out, fmt.Sprintf("%s (on the page after %.0f s, told after %.0f s)", f.name, c.m.Console, c.m.Told))
			}
		}
		return out
	}
	deadline := time.Now().Add(150 * time.Second)
	for proof.Rest(r.t.Context(), 250*time.Millisecond) && len(left()) > 0 {
		if time.Now().After(deadline) {
			r.t.Fatalf("not named, or not over: %s; blamed: %v", strings.Join(left(), "; "), blamed)
		}
		page, err := r.page()
		if err != nil && slices.ContainsFunc(faults, func(f fault) bool { return f.unseen }) {
			page, err = r.list()
		}
		for i, f := range faults {
			c := &courses[i]
			since := func(t time.Time) float64 { return float64(time.Since(t).Round(100*time.Millisecond)) / 1e9 }
			for _, s := range page {
				if s.where != f.where || s.what != f.what || c.m.Console > 0 {
					continue
				}
				c.m.Console, c.m.Said = since(c.caused), s.text
				for _, w := range f.words {
					if !strings.Contains(s.text, w) {
						r.t.Errorf("%s: the page says %q, without %q", f.name, s.text, w)
					}
				}
			}
			if one, ok := r.heard(c.caused, f.where, f.what, false); ok && c.m.Told == 0 {
				c.m.Told = float64(one.at.Sub(c.caused).Round(100*time.Millisecond)) / 1e9
			}
			if c.m.Console > 0 && c.m.Told > 0 && c.mended.IsZero() {
				f.mend()
				c.mended = time.Now()
			}
			if one, ok := r.heard(c.caused, f.where, f.what, true); ok && !c.done && !c.mended.IsZero() {
				c.m.Resolved, c.done = float64(one.at.Sub(c.mended).Round(100*time.Millisecond))/1e9, true
			}
		}
		for _, s := range page {
			if err == nil && !expected(watch.Alarm{Where: s.where, What: s.what}) {
				blamed[fmt.Sprintf("%s, %s: %s", s.where, s.what, s.text)] = true
			}
		}
	}
	for said := range blamed {
		r.t.Errorf("the page blames what is well: %s", said)
	}
	for _, said := range r.others(expected) {
		r.t.Errorf("people were told of what is well: %s", said)
	}
	for i, f := range faults {
		r.t.Logf("%-22s console %5.1f s, told %5.1f s, resolved %5.1f s: %s", f.name, courses[i].m.Console, courses[i].m.Told,
			courses[i].m.Resolved, courses[i].m.Said)
		proof.RecordRow(r.t, "faults", f.name, courses[i].m)
	}
	r.mu.Lock()
	r.told = nil
	r.mu.Unlock()
}

// wellWith waits until the watch has heard bays and finds nothing wrong.
func (r *troubled) wellWith(bays ...string) {
	r.t.Helper()
	proof.Until(r.t, "all bays are heard and nothing is wrong", func() bool {
		answer, err := httpClient.Get(r.config.MetricsURL("process") + "/metrics")
		if err != nil {
			return false
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		for _, b := range bays {
			if err != nil || !strings.Contains(string(text), fmt.Sprintf("fairlead_bay_heard_seconds{bay=%q", b)) {
				return false
			}
		}
		state, err := watch.Read(r.config.WatchFile())
		return err == nil && !state.Looked.IsZero() && len(state.Lasting()) == 0
	})
}

// list is what the page would show.
func (r *troubled) list() (out []shown, err error) {
	state, err := watch.Read(r.config.WatchFile())
	for _, k := range state.Lasting() {
		out = append(out, shown{k.Where, k.What, k.Text})
	}
	return out, err
}

// faultsOfBays are those of the bays that are there.
func (r *troubled) faultsOfBays() []fault {
	t := r.t
	device := func(bay string) string {
		if r.bays[bay] == nil {
			return "" // it is not tried
		}
		return filepath.Join(r.bays[bay].dir, "device")
	}
	must := r.must
	all := []fault{
		{name: "feed folder gone", where: "bay gone", what: "feed", words: []string{"willow", device("gone")},
			cause: func() { must(os.Rename(device("gone"), device("gone")+"-away")) },
			mend:  func() { must(os.Rename(device("gone")+"-away", device("gone"))) }},
		{name: "folder unreadable", where: "bay sealed", what: "feed", words: []string{"willow", device("sealed"), "permission"},
			cause: func() { must(os.Chmod(device("sealed"), 0)) },
			mend:  func() { must(os.Chmod(device("sealed"), 0o755)) }},
		{name: "file without entries", where: "bay mute", what: "feed", words: []string{"willow", "mute.csv"},
			cause: func() {
				put(t, r.bays["mute"].device("mute.csv"), strings.Repeat("\n", 60))
				r.bays["mute"].own(device("mute"))
			},
			mend: func() { must(os.Remove(r.bays["mute"].device("mute.csv"))); r.bays["mute"].hit("next.csv", "2,117.1") }},
		{name: "all lines refused", where: "bay refused", what: "feed", words: []string{"willow", "all refused"},
			cause: func() { r.bays["refused"].hit("bad.csv", "2,fast", "3,faster", "4,fastest", "5,slow", "6,slower") },
			mend:  func() { r.bays["refused"].hit("good.csv", "7,117.1") }},
		{name: "key revoked", where: "bay revoked", what: "revoked", words: []string{"taken back"},
			also:  []string{"bay revoked, expired"}, // until the new key was brought
			cause: func() { r.command("keys", "revoke", "bay-revoked") },
			mend:  func() { r.admit("revoked") }},
		{name: "key expired", where: "bay expired", what: "expired", words: []string{"bay-expired.seed"},
			also:  []string{"key bay-expired, ending"},
			cause: func() { r.command("keys", "rotate", "bay-expired", "--overlap", "2s") },
			mend: func() {
				b := r.bays["expired"]
				b.stop()
				b.bring(r.config.Keyring())
				b.start(b.program)
			}},
	}
	return slices.DeleteFunc(all, func(f fault) bool { return r.bays[strings.TrimPrefix(f.where, "bay ")] == nil })
}

// admit gives a bay whose key was revoked its key again.
func (r *troubled) admit(bay string) {
	r.t.Helper()
	r.command("keys", "rotate", "bay-"+bay)
	b := r.bays[bay]
	b.stop()
	b.bring(r.config.Keyring())
	b.start(b.program)
}
