package answers

import (
	"context"
	"encoding/json"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/hub/store/question"
	"fmt"
	"sync"

	"github.com/ClickHouse/clickhouse-go/v2"
)

// figureCache holds figures of one snapshot, which never change: merging the
// sketches of a hundred million shots' players takes longer than a page should.
type figureCache struct {
	mu       sync.Mutex
	snapshot uint64
	kept     map[string]*Figures
}

// mostFigures bounds the cache, some kilobytes each.
const mostFigures = 256

func figureKey(filter Filter, mostStudios int) string {
	return fmt.Sprint(mostStudios, " ", filter.where(0))
}

func (c *figureCache) get(snapshot uint64, key string) *Figures {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.snapshot != snapshot {
		return nil
	}
	return c.kept[key]
}

func (c *figureCache) put(snapshot uint64, key string, f *Figures) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.snapshot > snapshot {
		return
	}
	if c.snapshot != snapshot || len(c.kept) >= mostFigures {
		c.snapshot, c.kept = snapshot, map[string]*Figures{}
	}
	c.kept[key] = f
}

// clear forgets all of it.
func (c *figureCache) clear() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.kept = nil
	c.snapshot = 0
}

// kindFigures marks figures in the table of answers.
const kindFigures = "figures"

func figuresID(snapshot uint64, category string) string {
	return fmt.Sprintf("%s-%d-%s", kindFigures, snapshot, category)
}

// keepFigures counts a new snapshot by category and keeps what it found, so that
// the first page that shows it need not count.
func (f *Fleet) keepFigures(ctx context.Context, m Mark) error {
	var rows [][]any
	for _, c := range append([]string{""}, glossary.AirborneNames()...) {
		figures, err := f.describe(ctx, m, Filter{Category: c}, allStudios)
		if err != nil {
			return err
		}
		body, err := json.Marshal(figures)
		if err != nil {
			return fmt.Errorf("keep figures: %w", err)
		}
		rows = append(rows, []any{figuresID(m.Snapshot, c), kindFigures, kindFigures, c, m.Made, m.Snapshot, m.Inserted, m.Version,
			figures.Trials, figures.Players, string(body)})
	}
	return f.put(ctx, "keep figures", question.KeepFigures(), rows...)
}

// allStudios is more than there are.
const allStudios = 10_000

// keptFigures reads them; nil where they are not kept.
func (f *Fleet) keptFigures(ctx context.Context, snapshot uint64, category string, mostStudios int) (*Figures, error) {
	rows, err := f.store.Conn().Query(ctx, question.KeptFigures(), clickhouse.Named("kind", kindFigures),
		clickhouse.Named("id", figuresID(snapshot, category)))
	if err != nil {
		return nil, fmt.Errorf("kept figures: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		return nil, rows.Err()
	}
	var body string
	if err := rows.Scan(&body); err != nil {
		return nil, fmt.Errorf("kept figures: %w", err)
	}
	out := &Figures{}
	if err := json.Unmarshal([]byte(body), out); err != nil {
		return nil, fmt.Errorf("kept figures: %w", err)
	}
	out.Studios = out.Studios[:min(len(out.Studios), mostStudios)]
	return out, nil
}
