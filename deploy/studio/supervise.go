package studio

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os/exec"
	"slices"
	"sync"
	"time"
)

// Child is a process to keep running.
type Child struct {
	Name string
	Path string
	Args []string
	// Beside says that it may end at once with the child before it in the list.
	Beside bool
	// Speaks says that it tells from its start on that it lives, so that one which
	// never does hangs; others are watched from when they first said so.
	Speaks bool
}

// Running tells of a child for health and for tests that kill it.
type Running struct {
	Name     string `json:"name"`
	Pid      int    `json:"pid"` // 0: between two lives
	Restarts int    `json:"restarts"`
}

const (
	firstWait = 50 * time.Millisecond
	// longestWait keeps the promise of a restart within a second also for a
	// child that dies at once, again and again.
	longestWait = 900 * time.Millisecond
	settled     = 10 * time.Second // a life of this length was a good one
	stopWithin  = 10 * time.Second
)

// Supervisor keeps children running: each is started again within a second of
// its death. Children end when their standard input closes, so none outlives
// the supervisor, however that dies.
type Supervisor struct {
	log *slog.Logger
	out io.Writer // children's standard error, each line after the child's name

	// Changed, when set before Run, is called after each birth and death, never
	// twice at a time.
	Changed func([]Running)
	// Dumps, when set before Run, is the folder where a child that hung leaves what
	// its goroutines did.
	Dumps string
	// Silence is how long a child that asks to be watched may say nothing before it
	// is ended; 0: silentAfter.
	Silence time.Duration
	// Starting is how long one that speaks may take to its first word; 0: startsWithin.
	Starting time.Duration
	// EvenStarved is how much longer one may be silent that could not run; 0: evenStarved.
	EvenStarved time.Duration

	mu       sync.Mutex
	running  map[string]*Running
	order    []string
	changes  chan next
	outMu    sync.Mutex
	changing sync.Mutex
}

// NewSupervisor makes one that writes its children's log lines to out.
func NewSupervisor(log *slog.Logger, out io.Writer) *Supervisor {
	return &Supervisor{log: log, out: out, running: map[string]*Running{}, changes: make(chan next)}
}

// keeper keeps one child running.
type keeper struct {
	child  Child
	cancel context.CancelFunc
	done   chan struct{}
}

func (s *Supervisor) begin(ctx context.Context, c Child) *keeper {
	s.mu.Lock()
	if s.running[c.Name] == nil {
		s.running[c.Name] = &Running{Name: c.Name}
	}
	s.mu.Unlock()
	own, cancel := context.WithCancel(context.WithoutCancel(ctx))
	k := &keeper{c, cancel, make(chan struct{})}
	go func() {
		defer close(k.done)
		s.keep(own, c)
	}()
	return k
}

func (k *keeper) end() {
	k.cancel()
	<-k.done
}

// endAll ends children in the reverse order of their list, those at once that may.
func endAll(keepers []*keeper) {
	for last := len(keepers); last > 0; {
		first := last - 1
		for first > 0 && keepers[first].child.Beside {
			first--
		}
		var ending sync.WaitGroup
		for _, k := range keepers[first:last] {
			ending.Go(k.end)
		}
		ending.Wait()
		last = first
	}
}

// Run keeps the children running until ctx ends, then stops them in the
// reverse order of their list: who feeds others ends first.
func (s *Supervisor) Run(ctx context.Context, children []Child) {
	s.list(children)
	var keepers []*keeper
	for _, c := range children {
		keepers = append(keepers, s.begin(ctx, c))
	}
	for {
		select {
		case <-ctx.Done():
			endAll(keepers)
			return
		case n := <-s.changes:
			keepers = s.become(ctx, keepers, n)
		}
	}
}

// next is what the children are to become.
type next struct {
	children []Child
	renew    []string
}

// Become has other children run: those that are gone or changed end, in the
// reverse order of their list, as do those that are to begin anew; the others go on.
func (s *Supervisor) Become(ctx context.Context, children []Child, renew []string) {
	select {
	case s.changes <- next{children, renew}:
	case <-ctx.Done():
	}
}

func (s *Supervisor) become(ctx context.Context, keepers []*keeper, n next) (out []*keeper) {
	stays := map[string]*keeper{}
	for _, k := range slices.Backward(keepers) {
		same := func(c Child) bool {
			return c.Name == k.child.Name && c.Path == k.child.Path && slices.Equal(c.Args, k.child.Args)
		}
		if slices.ContainsFunc(n.children, same) && !slices.Contains(n.renew, k.child.Name) {
			stays[k.child.Name] = k
			continue
		}
		k.end()
	}
	s.list(n.children)
	for _, c := range n.children {
		k := stays[c.Name]
		if k == nil {
			k = s.begin(ctx, c)
		}
		out = append(out, k)
	}
	return out
}

// list sets whom Running tells of, in which order.
func (s *Supervisor) list(children []Child) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.order = nil
	for _, c := range children {
		s.order = append(s.order, c.Name)
		if s.running[c.Name] == nil {
			s.running[c.Name] = &Running{Name: c.Name}
		}
	}
}

// Running lists the children in the order they were given.
func (s *Supervisor) Running() []Running {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := make([]Running, 0, len(s.order))
	for _, name := range s.order {
		out = append(out, *s.running[name])
	}
	return out
}

func (s *Supervisor) keep(ctx context.Context, c Child) {
	wait := firstWait
	for ctx.Err() == nil {
		begun := time.Now()
		err := s.live(ctx, c)
		if ctx.Err() != nil {
			return
		}
		if time.Since(begun) > settled {
			wait = firstWait
		}
		s.log.Warn("process ended, starting it again", "name", c.Name, "error", err, "after", time.Since(begun).Round(time.Millisecond))
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
		wait = min(2*wait, longestWait)
		s.mu.Lock()
		s.running[c.Name].Restarts++
		s.mu.Unlock()
	}
}

// live runs one life of a child.
func (s *Supervisor) live(ctx context.Context, c Child) error {
	cmd := exec.Command(c.Path, c.Args...)
	ownGroup(cmd)
	watch, err := s.watch(c, cmd)
	if err != nil {
		s.log.Warn("this process is not watched for hangs", "name", c.Name, "error", err)
	}
	defer watch.close()
	stdin, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	stderr, err := cmd.StderrPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("start %s: %w", c.Path, err)
	}
	watch.born <- cmd.Process.Pid
	s.setPid(c.Name, cmd.Process.Pid)
	defer s.setPid(c.Name, 0)
	ended := make(chan error, 1)
	go func() {
		s.copyLines(c.Name, stderr, watch)
		ended <- cmd.Wait() // closes the pipe, so only after it was read
	}()
	select {
	case err := <-ended:
		stdin.Close()
		return err
	case <-watch.hung():
		err := s.endHung(c, cmd.Process, watch, ended)
		stdin.Close()
		return err
	case <-ctx.Done():
	}
	interrupt(cmd.Process)
	stdin.Close()
	select {
	case err := <-ended:
		return err
	case <-time.After(stopWithin):
		s.log.Warn("process did not end in time and is killed", "name", c.Name)
		cmd.Process.Kill()
		return <-ended
	}
}

func (s *Supervisor) setPid(name string, pid int) {
	s.changing.Lock() // one at a time, and in order: the last one told is what is
	defer s.changing.Unlock()
	s.mu.Lock()
	s.running[name].Pid = pid
	s.mu.Unlock()
	if s.Changed != nil {
		s.Changed(s.Running())
	}
}

func (s *Supervisor) copyLines(name string, r io.Reader, watch *lifeline) {
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadString('\n')
		if line != "" && !watch.keeps(line) {
			s.outMu.Lock()
			fmt.Fprintf(s.out, "%-14s %s\n", name, trimNewline(line))
			s.outMu.Unlock()
		}
		if err != nil {
			return
		}
	}
}

func trimNewline(s string) string {
	for len(s) > 0 && (s[len(s)-1] == '\n' || s[len(s)-1] == '\r') {
		s = s[:len(s)-1]
	}
	return s
}
