package demo

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"time"

	"github.com/google/uuid"

	"fairlead/deploy/studio"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/sim"
)

// Result is what a checked demo found.
type Result struct {
	Journalled int     `json:"journalled"`
	Published  int     `json:"published"`
	Stored     int     `json:"stored"`
	Missing    int     `json:"missing"`   // entries not stored, and shots of the truth without a row
	Duplicate  int     `json:"duplicate"` // shots that count more than once
	Repeats    int     `json:"repeats"`
	Rejected   int     `json:"rejected"`
	Untagged   int     `json:"untagged"`
	Mistagged  int     `json:"mistagged"`   // the stored tag is not what the visit events say
	Mislabeled int     `json:"mislabelled"` // it is not the club that was swung
	P50Live    float64 `json:"p50_live_ms"`
	P99Live    float64 `json:"p99_live_ms"` // from a line's writing to its shot on the live feed
	Shown      int     `json:"shown"`       // shots that this was measured on

	Before   int         `json:"mislabelled_before_repairs"`
	Sim      sim.Summary `json:"simulated"`
	Examples []string    `json:"examples,omitempty"`
}

// Bad says whether a shot is missing, counted twice or tagged wrongly.
func (r *Result) Bad() bool { return r.Missing+r.Duplicate+r.Mistagged > 0 }

// WriteText writes the result for people.
func (r *Result) WriteText(to io.Writer) error {
	w := bufio.NewWriter(to)
	fmt.Fprintf(w, "journalled %d, published %d, stored %d; missing %d, counted twice %d, repeats %d, rejected %d, untagged %d\n",
		r.Journalled, r.Published, r.Stored, r.Missing, r.Duplicate, r.Repeats, r.Rejected, r.Untagged)
	fmt.Fprintf(w, "mistagged %d; not the club that was swung: %d (before the fitter's repairs %d)\n", r.Mistagged, r.Mislabeled, r.Before)
	fmt.Fprintf(w, "a shot shows after %.1f ms (half of them), %.1f ms (99 of 100), measured on %d\n", r.P50Live, r.P99Live, r.Shown)
	for _, e := range r.Examples {
		fmt.Fprintln(w, "  "+e)
	}
	return w.Flush()
}

// stillFor is how long a studio may stand still before what is not right is wrong: an
// entry that a restart lost is asked for after a heartbeat, and again after pauses that double.
const stillFor = 40 * time.Second

// Check waits until what was written has arrived, and compares all of it.
func Check(ctx context.Context, config *studio.Config, log *slog.Logger, w *Watch, summary sim.Summary) (*Result, error) {
	s, err := config.OpenStore()
	if err != nil {
		return nil, err
	}
	defer s.Close()
	nc, js, err := config.ConnectTool(ctx, "check", log)
	if err != nil {
		return nil, err
	}
	defer nc.Close()
	auditor := audit.Auditor{Conn: nc, JS: js, Store: s, Wait: 5 * time.Second, Tags: true}
	var report audit.Report
	var counted int
	var before [3]uint64
	// Entries may be on their way, and a correction may still be written: what is not
	// right while nothing has come for this long is wrong. A look of a busy machine may
	// itself take longer than that, and says what was at its beginning: the last word
	// has one that began after.
	for deadline := time.Now().Add(stillFor); ; time.Sleep(500 * time.Millisecond) {
		begun := time.Now()
		report, err = auditor.Run(ctx, config.Studio, config.Places())
		if err == nil {
			counted, err = truthMissing(ctx, s, w)
		}
		if err != nil { // a process may be between two lives
			if ctx.Err() != nil || begun.After(deadline) {
				return nil, err
			}
			continue
		}
		if (!report.Wrong() && !report.Unknown() && counted == 0) || begun.After(deadline) {
			break
		}
		now := [3]uint64{report.Total(func(b audit.Bay) uint64 { return b.Published }),
			report.Total(func(b audit.Bay) uint64 { return b.Stored }), report.Total(func(b audit.Bay) uint64 { return b.Journaled })}
		if now != before {
			before, deadline = now, time.Now().Add(stillFor)
		}
	}
	total := func(of func(audit.Bay) uint64) int { return int(report.Total(of)) }
	r := &Result{
		Journalled: total(func(b audit.Bay) uint64 { return b.Journaled }), Published: total(func(b audit.Bay) uint64 { return b.Published }),
		Stored:    total(func(b audit.Bay) uint64 { return b.Stored }),
		Missing:   total(func(b audit.Bay) uint64 { return b.Missing + b.Lost }) + counted,
		Duplicate: total(func(b audit.Bay) uint64 { return b.Duplicate }), Repeats: total(func(b audit.Bay) uint64 { return b.Repeats }),
		Rejected: total(func(b audit.Bay) uint64 { return b.Rejected }), Untagged: total(func(b audit.Bay) uint64 { return b.Untagged }),
		Mistagged: total(func(b audit.Bay) uint64 { return b.Mistagged }), Before: summary.MislabelledFirst, Sim: summary,
	}
	for _, b := range report.Bays {
		if b.Unknown != "" {
			r.Missing++ // what can't be asked is not known to be there
			r.Examples = append(r.Examples, b.Bay+": "+b.Unknown)
		}
		r.Examples = append(r.Examples, b.Examples...)
	}
	r.P50Live, r.Shown = w.p(0.5)
	r.P99Live, _ = w.p(0.99)
	r.Mislabeled, err = mislabelled(ctx, s, w)
	return r, err
}

// truthMissing counts the shots that the devices really gave and that have no row.
func truthMissing(ctx context.Context, s *store.Store, w *Watch) (int, error) {
	stored, err := storedShots(ctx, s)
	if err != nil {
		return 0, err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	missing := 0
	for id := range w.lines {
		if _, ok := stored[id]; !ok {
			missing++
		}
	}
	return missing, nil
}

// mislabelled counts the shots that count for a build which was not swung.
func mislabelled(ctx context.Context, s *store.Store, w *Watch) (int, error) {
	stored, err := storedShots(ctx, s)
	if err != nil {
		return 0, err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	n := 0
	for id, line := range w.lines {
		if build := stored[id]; build != "" && (build != line.Build || line.HitterKind != "player") {
			n++
		}
	}
	return n, nil
}

// storedShots maps every stored shot id to the build it counts for; to nothing
// when it does not count.
func storedShots(ctx context.Context, s *store.Store) (map[string]string, error) {
	rows, err := s.Conn().Query(ctx, question.BuildsThatCount())
	if err != nil {
		return nil, fmt.Errorf("read stored shots: %w", err)
	}
	defer rows.Close()
	out := map[string]string{}
	for rows.Next() {
		var id uuid.UUID
		var build string
		if err := rows.Scan(&id, &build); err != nil {
			return nil, fmt.Errorf("read stored shots: %w", err)
		}
		out[id.String()] = build
	}
	return out, rows.Err()
}
