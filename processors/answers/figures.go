package answers

import (
	"fmt"
	"sync"
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
