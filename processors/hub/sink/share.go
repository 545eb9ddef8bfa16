package sink

import (
	"context"
	"errors"
	"time"

	"fairlead/ingest/log/stream"
)

// shareEvery is how often a process says that it is there and counts the others.
const shareEvery = 1500 * time.Millisecond

var errShared = errors.New("another process has room for the bay")

// share keeps to this process's share of the bays until ctx ends: as many as each
// of the processes has when all have about as many. What it has beyond that it
// gives up, a bay at a time; what nobody holds is taken by who has room.
func (p *Process) share(ctx context.Context) {
	defer func() {
		leave, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		stream.Leave(leave, p.js, p.owner)
	}()
	for {
		short, cancel := context.WithTimeout(ctx, 3*time.Second)
		n, err := stream.Attend(short, p.js, p.owner, p.dead)
		cancel()
		p.mu.Lock()
		if err != nil {
			n = 1 // nobody is seen: each takes what it can get
		}
		p.members = n
		if n > 1 && len(p.owned) > p.fair() {
			for _, give := range p.owned {
				give(errShared)
				break
			}
		}
		p.mu.Unlock()
		select {
		case <-ctx.Done():
			return
		case <-time.After(shareEvery):
		}
	}
}

// fair is how many bays are this process's share; p.mu is held.
func (p *Process) fair() int { return (p.bays + p.members - 1) / max(p.members, 1) }

// room says whether the process may take another bay.
func (p *Process) room() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.members <= 1 || len(p.owned) < p.fair()
}

// known counts the bays that there are to share.
func (p *Process) known(n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.bays = n
}
