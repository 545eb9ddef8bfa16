package group

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

// A studio that was set back to an older copy gives numbers a second time. Once it is
// past what the head office has of a journal, numbers alone show nothing, so what is held
// under them is compared: at the start and every few hours, when nothing waits. A block of
// numbers that is another one there is sent again; what the head office has it takes for a
// repeat, and what it has not comes beside what stood there. It keeps what the studio has
// lost, so such a block stays another one, and is sent once for each content that it has here.

const (
	// compareEvery and compareAgain are in looks: six hours, and half a minute, after which
	// what was on its way has come.
	compareEvery = 3 * 3600
	compareAgain = 15
	// mostLooks are made at a time: of a bay where one hits and hits something is always
	// on its way.
	mostLooks = 10
	// compareWithin is how long both stores may take.
	compareWithin = 45 * time.Second
)

// block names the numbers of a store.BlockSum.
type block struct {
	gap.Key
	n uint64
}

func (b block) String() string { return fmt.Sprintf("%s %s %d", b.Place.Bay, b.Journal, b.n) }

// sides are both' sums of a block; no rows: none of it.
type sides struct{ here, there store.BlockSum }

// comparison is how far the content of both stores has been compared.
type comparison struct {
	due    time.Time
	differ map[block]sides // at the last look, to be looked at again
	looks  int
}

// compare holds what both sides have under the same numbers against each other, and puts
// into the line what the head office has otherwise. A head office of before is not asked.
func (c *carrier) compare(ctx context.Context, now time.Time) error {
	if now.Before(c.compared.due) || c.state.Entries+c.state.Events > 0 || c.line.busy() {
		return nil
	}
	c.compared.due = now.Add(compareAgain * c.Every)
	asking, cancel := context.WithTimeout(ctx, compareWithin)
	defer cancel()
	own, err := c.Store.BlockSums(asking, c.Studio)
	if err != nil {
		return fmt.Errorf("%w: %w", errOwn, err)
	}
	there, err := Ask[[]store.BlockSum](asking, c.Conn, c.Studio, AskBlocks)
	var no *RefusedError
	if errors.As(err, &no) {
		c.compared = comparison{due: now.Add(compareEvery * c.Every)}
		return nil
	}
	if err != nil {
		return err
	}
	before := c.compared.differ
	differ, moves := differing(c.Studio, own, there), false
	mended := map[string]uint64{} // a new one: the old one was handed on
	for b, s := range differ {
		switch {
		case c.state.Mended[b.String()] == s.here.Sum:
		case before[b] != s: // it may be on its way
			moves = true
			continue
		default:
			c.Logger.Warn("the head office has other records of a journal under the same numbers: was this studio set back to an older copy? "+
				"They are sent again; see `fairlead forward check`", "bay", b.Place.Bay, "journal", b.Journal,
				"from", b.n*store.BlockSize, "rows", s.here.Rows, "there", s.there.Rows)
			c.line.back(b.Key, gap.Range{From: max(b.n*store.BlockSize, 1), To: (b.n+1)*store.BlockSize - 1}, event.NewID(now))
			if s.there.Rows > 0 {
				c.state.SetBack = now.UTC()
			}
		}
		mended[b.String()] = s.here.Sum
	}
	if !maps.Equal(mended, c.state.Mended) {
		c.state.Mended = mended
	}
	if moves && c.compared.looks < mostLooks {
		c.compared.differ, c.compared.looks = differ, c.compared.looks+1
	} else {
		c.compared = comparison{due: now.Add(compareEvery * c.Every)}
	}
	return nil
}

// differing are the blocks of which the head office has not what the studio has.
func differing(studio string, own, there []store.BlockSum) map[block]sides {
	named := func(s store.BlockSum) block {
		if s.Bay == "" {
			s.Bay = stream.ConsoleBay
		}
		return block{gap.Key{Place: stream.Place{Studio: studio, Bay: s.Bay}, Journal: s.Journal}, s.Block}
	}
	office := map[block]store.BlockSum{}
	for _, s := range there {
		office[named(s)] = s
	}
	out := map[block]sides{}
	for _, s := range own {
		if o := office[named(s)]; o.Rows != s.Rows || o.Sum != s.Sum {
			out[named(s)] = sides{s, o}
		}
	}
	return out
}
