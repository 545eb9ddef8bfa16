package process

import (
	"context"
	"fmt"
	"reflect"
	"strings"
	"time"

	"fairlead/ingest/log/stream"
)

// stateOf are the questions whose answers a wait that fails shows: what is stored,
// in the words that the pipeline wrote.
var stateOf = []struct{ what, question string }{
	{"trials", "SELECT bay, trial, part, n, n_excluded, n_set_aside, version FROM trials FINAL ORDER BY ALL LIMIT 30"},
	{"entries", "SELECT bay, journal, trial, status, certainty, latest > earliest, count(), min(seq), max(seq), min(toString(effective)), " +
		"max(toString(effective)), min(toString(earliest)), max(toString(latest)), max(version) FROM entries FINAL GROUP BY 1, 2, 3, 4, 5, 6 " +
		"ORDER BY ALL LIMIT 40"},
	{"visit events", "SELECT bay, kind, id, journal, seq, toString(effective) FROM visit_events FINAL ORDER BY bay, effective LIMIT 60"},
	{"verdicts", "SELECT bay, session, id, version FROM verdicts FINAL ORDER BY ALL LIMIT 20"},
	{"set aside", "SELECT bay, of, key, reason FROM set_aside FINAL ORDER BY ALL LIMIT 20"},
	{"changes that are not done", "SELECT table, command, latest_fail_reason FROM system.mutations WHERE database = currentDatabase() AND " +
		"NOT is_done"},
}

// state is all that bears on why something does not come about: rows, consumers and
// journals, and what the hub counts.
func (b *bench) state() string {
	var s strings.Builder
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	for _, q := range stateOf {
		fmt.Fprintf(&s, "%s:\n", q.what)
		if err := b.show(ctx, &s, q.question); err != nil {
			fmt.Fprintf(&s, "  %v\n", err)
		}
	}
	for _, y := range b.bays {
		fmt.Fprintf(&s, "bay %s: %d lines written\n", y.place.Bay, y.lines)
	}
	fmt.Fprintf(&s, "console: %d events written\n", b.console.seq)
	if err := b.showLog(ctx, &s); err != nil {
		fmt.Fprintf(&s, "log: %v\n", err)
	}
	if b.metrics == nil {
		return s.String()
	}
	families, _ := b.metrics.Gather()
	for _, f := range families {
		for _, m := range f.Metric {
			v := m.GetCounter().GetValue() + m.GetGauge().GetValue() + float64(m.GetHistogram().GetSampleCount())
			if v == 0 || strings.HasPrefix(f.GetName(), "fairlead_answers") {
				continue
			}
			var labels []string
			for _, l := range m.Label {
				labels = append(labels, l.GetValue())
			}
			fmt.Fprintf(&s, "%s %s: %.6g\n", strings.TrimPrefix(f.GetName(), "fairlead_"), strings.Join(labels, " "), v)
		}
	}
	return s.String()
}

// show writes the rows that a question gives.
func (b *bench) show(ctx context.Context, s *strings.Builder, question string) error {
	rows, err := b.store.Conn().Query(ctx, question)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var cells []any
		for _, c := range rows.ColumnTypes() {
			cells = append(cells, reflect.New(c.ScanType()).Interface())
		}
		if err := rows.Scan(cells...); err != nil {
			return err
		}
		for _, c := range cells {
			fmt.Fprintf(s, "  %v", reflect.ValueOf(c).Elem())
		}
		s.WriteByte('\n')
	}
	return rows.Err()
}

// showLog writes how far the streams and their consumers are.
func (b *bench) showLog(ctx context.Context, s *strings.Builder) error {
	nc, js, err := stream.Connect(b.link("hub", stream.Place{}))
	if err != nil {
		return err
	}
	defer nc.Close()
	for _, name := range []string{stream.Shots, stream.Visits} {
		st, err := js.Stream(ctx, name)
		if err != nil {
			return err
		}
		now := st.CachedInfo().State
		fmt.Fprintf(s, "%s: messages %d to %d, %d\n", name, now.FirstSeq, now.LastSeq, now.Msgs)
		consumers := st.ListConsumers(ctx)
		for c := range consumers.Info() {
			fmt.Fprintf(s, "  %s %s: given %d, acknowledged %d, waits for an acknowledgement of %d, pending %d, asks %d\n", c.Name,
				c.Config.Description, c.Delivered.Stream, c.AckFloor.Stream, c.NumAckPending, c.NumPending, c.NumWaiting)
		}
		if err := consumers.Err(); err != nil {
			return err
		}
	}
	return nil
}
