package studio

import (
	"cmp"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

const (
	// silentAfter is how long a child may say nothing before it counts as hung, and
	// half as long once more. A child says three times as often that it lives. Only
	// time counts in which both it and who listens could run.
	silentAfter = 6 * time.Second
	// evenStarved is how much longer a child may be silent that the machine keeps from
	// running: after that it is ended all the same.
	evenStarved = 2 * time.Minute
	// startsWithin is how long a child may take to its first word: a busy machine reads
	// its program first.
	startsWithin = 30 * time.Second
	// dumpWithin is how long a hung child has to write what its goroutines do.
	dumpWithin = 3 * time.Second
	// keptDumps of each process stay; older ones go.
	keptDumps = 5
)

// lifeline hears of one life of a child that it lives (package alive). A child
// that never said so is not watched unless it is known to speak: it may be another
// program.
type lifeline struct {
	socket *net.UnixConn
	dir    string
	born   chan int      // its process id, once
	silent chan struct{} // closed when it said nothing for too long
	ended  chan struct{}
	// starved is told once in each silence that lasts because the machine keeps the
	// child from running; nil: nobody is.
	starved func(silent, counted time.Duration)

	mu   sync.Mutex
	dump *os.File // takes the child's lines, when set
}

// watch makes the socket that the child will speak to. What it returns beside
// an error hears nothing.
func (s *Supervisor) watch(c Child, cmd *exec.Cmd) (*lifeline, error) {
	w := &lifeline{born: make(chan int, 1), silent: make(chan struct{}), ended: make(chan struct{})}
	dir, err := os.MkdirTemp("", "fairlead-") // a socket's path may not be long
	if err != nil {
		return w, err
	}
	w.dir = dir
	name := filepath.Join(dir, "life")
	w.socket, err = net.ListenUnixgram("unixgram", &net.UnixAddr{Name: name, Net: "unixgram"})
	if err != nil {
		os.RemoveAll(dir)
		return &lifeline{born: w.born, silent: w.silent, ended: w.ended}, err
	}
	silence := cmp.Or(s.Silence, silentAfter)
	for _, e := range os.Environ() {
		if k, _, _ := strings.Cut(e, "="); k != "NOTIFY_SOCKET" && k != "WATCHDOG_USEC" && k != "WATCHDOG_PID" {
			cmd.Env = append(cmd.Env, e)
		}
	}
	cmd.Env = append(cmd.Env, "NOTIFY_SOCKET="+name, fmt.Sprintf("WATCHDOG_USEC=%d", silence.Microseconds()))
	first := time.Duration(0)
	if c.Speaks {
		first = cmp.Or(s.Starting, startsWithin)
	}
	w.starved = func(silent, counted time.Duration) {
		s.log.Warn("process does not say that it lives, on a machine that gives it no time: it is waited for", "name", c.Name,
			"silent", silent.Round(time.Second), "could_run", counted.Round(time.Second))
	}
	go w.listen(first, silence, cmp.Or(s.EvenStarved, evenStarved))
	return w, nil
}

// listen hears the child's words: the first one within a time where that is not 0.
// more is what a silence may last longer where the child could not run.
func (w *lifeline) listen(first, silence, more time.Duration) {
	defer close(w.ended)
	words := make([]byte, 512)
	child := starving{}
	limit := time.Duration(0) // of the silence; 0: it may be silent
	if first > 0 {
		limit = first + silence/2
	}
	const steps = 12 // in a silence: what kept the child from running is looked at in each
	var lasts, counted time.Duration
	said, looked := false, time.Now()
	begin := func(of time.Duration) {
		limit, lasts, counted, said, looked = of, 0, 0, false, time.Now()
	}
	for {
		step := silence / steps
		w.socket.SetReadDeadline(time.Now().Add(step))
		n, err := w.socket.Read(words)
		switch heard := string(words[:max(n, 0)]); {
		case err == nil && strings.Contains(heard, "WATCHDOG=1"):
			begin(silence + silence/2)
		case err == nil && strings.Contains(heard, "STOPPING=1"):
			begin(0)
		case errors.Is(err, os.ErrDeadlineExceeded) && limit > 0:
			select {
			case child.pid = <-w.born:
			default:
			}
			elapsed := time.Since(looked)
			looked = looked.Add(elapsed)
			lasts += elapsed
			// Where the whole machine stood still, who listens comes late.
			could := min(elapsed, 2*step)
			if child.pid > 0 && lasts > silence/3 { // a word is due
				could = max(0, could-child.since(elapsed))
			}
			counted += could
			if counted >= limit || lasts >= limit+more {
				close(w.silent)
				return
			}
			if !said && lasts >= 2*limit && w.starved != nil {
				said = true
				w.starved(lasts, counted)
			}
		case err != nil && !errors.Is(err, os.ErrDeadlineExceeded):
			return
		}
	}
}

func (w *lifeline) hung() <-chan struct{} { return w.silent }

// keeps says whether a line of the child goes to its dump rather than to the log.
func (w *lifeline) keeps(line string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.dump == nil {
		return false
	}
	w.dump.WriteString(line)
	return true
}

func (w *lifeline) dumpTo(f *os.File) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.dump = f
}

func (w *lifeline) close() {
	if w.socket != nil {
		w.socket.Close()
		<-w.ended
		os.RemoveAll(w.dir)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.dump != nil {
		w.dump.Close()
		w.dump = nil
	}
}

var errHung = errors.New("it hung")

// endHung has a child that hangs write its goroutines to a file, and ends it.
func (s *Supervisor) endHung(c Child, p *os.Process, w *lifeline, ended <-chan error) error {
	file, err := s.dumpFile(c.Name)
	if err != nil {
		s.log.Warn("no file for what a hung process did", "name", c.Name, "error", err)
	}
	said := "nowhere"
	if file != nil {
		said = file.Name()
		w.dumpTo(file)
	}
	s.log.Error("process does not say that it lives: it is ended and started again", "name", c.Name, "pid", p.Pid, "goroutines", said)
	quit(p)
	late := time.NewTimer(dumpWithin)
	defer late.Stop()
	select {
	case err := <-ended:
		return errors.Join(errHung, err)
	case <-late.C:
	}
	p.Kill()
	return errors.Join(errHung, <-ended)
}

// dumpFile makes the file of a dump and drops the oldest ones of the process.
func (s *Supervisor) dumpFile(name string) (*os.File, error) {
	if s.Dumps == "" {
		return nil, nil
	}
	if err := os.MkdirAll(s.Dumps, 0o700); err != nil {
		return nil, err
	}
	old, _ := filepath.Glob(filepath.Join(s.Dumps, name+"-*.txt")) // sorted, and so by time
	for len(old) >= keptDumps {
		os.Remove(old[0])
		old = old[1:]
	}
	return os.OpenFile(filepath.Join(s.Dumps, name+time.Now().UTC().Format("-20060102T150405.000Z")+".txt"), os.O_CREATE|os.O_WRONLY|os.O_EXCL,
		0o600)
}
