package feed

import (
	"context"
	"errors"
	"sync"
	"time"
)

// Batch is what a source read in one go: at least one draft, in order.
type Batch struct {
	Drafts []Draft
	// Position is where reading goes on once the drafts are durable; it covers
	// all batches before it too. nil from a source that has no position (HTTP).
	// At most a few kilobytes.
	Position []byte
	// Skipped counts the lines since the last batch that carry nothing.
	Skipped Skipped
	// Backlog says that these lines were there before the source came to look:
	// they may have been hit long before they are read. Finished files always
	// are; a growing file until its end was reached for the first time.
	Backlog bool
	// Seen is when the lines appeared, where that was well before they are
	// handed over (a last line that waited for its end); zero: just now.
	Seen time.Time
	// After is when the place was last looked at and none of these lines was
	// there, as the time since the machine was started (steady.Clock); 0: never
	// since the source was made. So late reading shows, whatever made it late.
	After time.Duration
	// Export says that the lines are of a finished file with several new ones: it
	// appeared at Seen (or was there before, with Backlog), and its lines may have
	// been hit at any time before.
	Export bool
}

// Emit takes a batch and returns when it is durable, position included. An
// error means that nothing of it may be counted on: the source does not go on.
// An error that wraps ErrFull is tried again after a while, for as long as it
// takes; Run returns on any other. Emit is called from one goroutine at a time,
// except by HTTP sources, which call it from each request.
type Emit func(ctx context.Context, b Batch) error

// ErrFull is wrapped by an Emit that has no room now and may have later.
var ErrFull = errors.New("no room in the journal")

// Source follows one place where a device's lines appear.
type Source interface {
	// Run reads from a durable position (nil: from the beginning) until ctx
	// ends, then returns ctx.Err(). It emits each line at least once; a line
	// emitted again has the same shot id. What can mend itself (no file yet, a
	// share that went away) is waited for and shown by State; Run returns early
	// only when emit fails or the position is not one of this kind of source.
	Run(ctx context.Context, from []byte, emit Emit) error
	// State may be called at any time, from any goroutine.
	State() State
}

// Looker is a Source that knows when it last looked and all that was there was
// durable, as the time since the machine was started; 0: not yet. It may be
// asked from any goroutine. A collector that is started again takes what it then
// finds to be younger than that.
type Looker interface{ Looked() time.Duration }

// State is how a source is getting on.
type State struct {
	State  string // one of the words below
	Detail string // what is wrong and what to try; empty when ok
	// Events worth an operator's eye since Run began.
	Rotations   uint64 // a file was replaced and reading went on in the next
	Truncations uint64 // a file was cut short under the reader
	Oversized   uint64 // lines longer than MaxLine
}

// The words of State.State.
const (
	StateOK      = "ok"
	StateWaiting = "waiting"
	StateStopped = "stopped"
	StateMute    = "mute" // bytes come, and no line is found in them
	// StateAway: what is to be read is gone, or this program may not read it. That is
	// trouble, where waiting for the device's next shot is none.
	StateAway = "away"
)

// stateBox is a State that is written by one goroutine and read by any.
type stateBox struct {
	mu sync.Mutex
	s  State
}

func (b *stateBox) State() State {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.s.State == "" {
		return State{State: StateWaiting, Detail: "has not looked yet"}
	}
	return b.s
}

func (b *stateBox) set(state, detail string) {
	b.change(func(s *State) { s.State, s.Detail = state, detail })
}

func (b *stateBox) change(f func(*State)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	f(&b.s)
}
