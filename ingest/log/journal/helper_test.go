package journal

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// The helper is this test program started again as a process of its own, which
// appends until it is killed. What it was told is durable it writes to its
// standard output, a line each, so the list lies outside of what is broken.
const (
	helperDir     = "FAIRLEAD_TEST_JOURNAL"
	helperWriters = "FAIRLEAD_TEST_JOURNAL_WRITERS"
	helperAppends = "FAIRLEAD_TEST_JOURNAL_APPENDS" // of each writer; without it: for ever
)

func helperProcess() {
	dir := os.Getenv(helperDir)
	if dir == "" {
		return
	}
	if err := appendUntilKilled(dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

func appendUntilKilled(dir string) error {
	j, _, err := Open(Options{Dir: dir, Studio: "Harbour Row", Bay: "north", Machine: "this one", SegmentBytes: 64 << 10})
	if err != nil {
		return err
	}
	writers, err := strconv.Atoi(os.Getenv(helperWriters))
	if err != nil {
		return err
	}
	appends, err := strconv.Atoi(os.Getenv(helperAppends))
	if err != nil {
		appends = -1
	}
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			runtime.LockOSThread() // strace counts the calls of each thread
			for i := 0; i != appends; i++ {
				payload := fmt.Sprintf("%d-%d-%d-%s", os.Getpid(), w, i, strings.Repeat("x", (w*31+i*17)%900))
				first, err := j.Append(context.Background(), text(payload, fmt.Sprint(w)))
				if err != nil {
					fmt.Fprintf(os.Stdout, "failed %v\n", err)
					if appends < 0 {
						return
					}
					continue
				}
				// The journal may have changed since, but not with one writer,
				// and with several none of these tests makes it.
				fmt.Fprintf(os.Stdout, "acked %s %d %s\n", j.ID(), first, payload)
			}
		})
	}
	wg.Wait()
	return nil
}

// told is what helpers were told over several lives of one journal.
type told struct {
	mu     sync.Mutex
	acked  map[string]map[uint64]string
	n      int
	failed []string
}

func newTold() *told { return &told{acked: map[string]map[uint64]string{}} }

func (o *told) read(out *bufio.Scanner) {
	for out.Scan() {
		line := out.Text()
		o.mu.Lock()
		if err, ok := strings.CutPrefix(line, "failed "); ok {
			o.failed = append(o.failed, err)
		} else if f := strings.Fields(line); len(f) == 4 && f[0] == "acked" {
			seq, _ := strconv.ParseUint(f[2], 10, 64)
			if o.acked[f[1]] == nil {
				o.acked[f[1]] = map[uint64]string{}
			}
			o.acked[f[1]][seq] = f[3]
			o.n++
		}
		o.mu.Unlock()
	}
}

func (o *told) count() int {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.n
}

// check opens the journal and compares. Everything acknowledged is there once,
// under its number, and nothing is damaged.
func (o *told) check(t *testing.T, dir string) Report {
	t.Helper()
	j, report := openJournal(t, Options{Dir: dir})
	defer j.Close()
	if report.Waiting != nil || len(report.Quarantined) > 0 {
		t.Fatalf("opened: %+v", report)
	}
	where := map[string]string{}
	for _, i := range j.Journals() {
		got := readAll(t, j, i.ID)
		for seq, payload := range got {
			if at, twice := where[payload]; twice {
				t.Fatalf("%.40s is in %s and in %s/%d", payload, at, i.ID, seq)
			}
			where[payload] = fmt.Sprintf("%s/%d", i.ID, seq)
		}
	}
	for id, entries := range o.acked {
		for seq, payload := range entries {
			if at := where[payload]; at != fmt.Sprintf("%s/%d", id, seq) {
				t.Fatalf("%.40s was acknowledged as %s/%d and found at %q; %+v", payload, id, seq, at, report)
			}
		}
	}
	return report
}

// startHelper runs the helper, behind the given command if there is one.
func startHelper(t *testing.T, o *told, dir string, writers, appends int, behind ...string) (cmd *exec.Cmd, done chan struct{}) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	argv := append(behind, self)
	cmd = exec.Command(argv[0], argv[1:]...)
	cmd.Env = append(os.Environ(), helperDir+"="+dir, fmt.Sprintf("%s=%d", helperWriters, writers))
	if appends > 0 {
		cmd.Env = append(cmd.Env, fmt.Sprintf("%s=%d", helperAppends, appends))
	}
	var errOut strings.Builder
	cmd.Stderr = &errOut
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	done = make(chan struct{})
	go func() {
		defer close(done)
		o.read(bufio.NewScanner(out))
		_ = cmd.Wait()
		if s := errOut.String(); s != "" {
			t.Logf("helper: %s", s)
		}
	}()
	return cmd, done
}
