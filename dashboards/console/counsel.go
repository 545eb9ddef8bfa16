package console

import (
	"context"
	"sync"
	"time"

	"fairlead/processors/ask/answers"
)

// counselEvery is how long advice for a player is shown before it is asked anew.
const counselEvery = time.Minute

// counsel keeps what the fleet advises for the players in the bays. A page
// never waits for it: what was last known is shown, and asked again behind.
type counsel struct {
	fleet func() *answers.Fleet // nil, or nil result: no fleet to ask
	asks  chan question         // to run

	mu    sync.Mutex
	known map[[2]string]*counselled // player, category
}

// question is one player whom the fleet is asked about.
type question struct {
	fleet *answers.Fleet
	key   [2]string
	about *counselled
}

type counselled struct {
	tries  []tryNext
	at     time.Time
	asking bool
}

// tryNext is one trial that the fleet would hit first, and why.
type tryNext struct{ Name, Why string }

func newCounsel(fleet func() *answers.Fleet) *counsel {
	return &counsel{fleet: fleet, asks: make(chan question, 16), known: map[[2]string]*counselled{}}
}

// run asks, until ctx ends, what the pages want to know.
func (c *counsel) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case q := <-c.asks:
			go c.ask(ctx, q)
		}
	}
}

// of returns what is known for a player; nothing for a newcomer, or without
// answers kept from the last night.
func (c *counsel) of(player, category string) []tryNext {
	if c == nil || c.fleet == nil || player == "" {
		return nil
	}
	fleet := c.fleet()
	if fleet == nil {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	key := [2]string{player, category}
	k := c.known[key]
	if k == nil {
		k = &counselled{}
		c.known[key] = k
	}
	if !k.asking && time.Since(k.at) > counselEvery {
		select {
		case c.asks <- question{fleet, key, k}:
			k.asking = true
		default: // many are waiting: the next look asks again
		}
	}
	return k.tries
}

func (c *counsel) ask(ctx context.Context, q question) {
	ctx, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	var tries []tryNext
	// Errors mean that there is nothing to say: no profile yet, no answer kept,
	// no store. The page of the fleet says which.
	if advice, err := q.fleet.Advise(ctx, q.key[0], q.key[1], answers.Advising{Kept: true}); err == nil {
		for _, s := range advice.TryNext() {
			tries = append(tries, tryNext{s.Name, s.Why})
		}
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	q.about.tries, q.about.at, q.about.asking = tries, time.Now(), false
}
