package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"fairlead/cmd/frame"
	"fairlead/deploy/engine"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/demo"
	"fairlead/processors/sim"
)

var programs struct {
	sync.Once
	dir string
	err error
}

// program is the built fairlead, with fairlead-engine beside it: those that
// FAIRLEAD_BIN names, or fresh ones.
func program(t testing.TB) string {
	t.Helper()
	programs.Do(func() {
		if _, programs.err = engine.FindLibrary(); programs.err != nil {
			return
		}
		if dir := os.Getenv("FAIRLEAD_BIN"); dir != "" {
			programs.dir = dir
			return
		}
		if programs.dir, programs.err = os.MkdirTemp("", "fairlead-bin-*"); programs.err != nil {
			return
		}
		for _, name := range []string{"fairlead", "fairlead-engine"} {
			cmd := exec.Command("go", "build", "-o", filepath.Join(programs.dir, name), "fairlead/cmd/"+name)
			cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
			if out, err := cmd.CombinedOutput(); err != nil {
				programs.err = frame.Exit(1, err)
				t.Logf("%s", out)
				return
			}
		}
	})
	if programs.err != nil {
		t.Fatal(programs.err)
	}
	return filepath.Join(programs.dir, "fairlead")
}

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
	}
	code := m.Run()
	if programs.dir != "" && os.Getenv("FAIRLEAD_BIN") == "" {
		os.RemoveAll(programs.dir)
	}
	os.Exit(code)
}

// rig is a whole studio in real processes.
type rig struct {
	t       *testing.T
	program string
	dir     string // devices' files, maps and configuration: never cut
	config  *studio.Config
	up      *exec.Cmd
	log     *lockedBuffer
	watch   *demo.Watch
}

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// newRig writes the demo studio; data is its data folder, empty for the usual one.
func newRig(t *testing.T, data string) *rig {
	t.Helper()
	r := &rig{t: t, program: program(t), dir: t.TempDir(), log: &lockedBuffer{}}
	var at [3]string
	for i := range at {
		address, err := studio.FreeAddress(0)
		if err != nil {
			t.Fatal(err)
		}
		at[i] = address
	}
	file, err := sim.DemoConfig(r.dir, sim.Addresses{Broker: at[0], Store: at[1], Console: at[2], Metrics: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	if data != "" {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		changed := strings.Replace(string(text), "data: var", "data: "+data, 1)
		if changed == string(text) {
			t.Fatal("the demo's configuration has no data folder to change")
		}
		if err := os.WriteFile(file, []byte(changed), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if r.config, err = studio.Load(file); err != nil {
		t.Fatal(err)
	}
	r.watch = demo.NewWatch(r.config)
	t.Cleanup(func() {
		r.stop()
		if t.Failed() {
			text := r.log.String()
			t.Logf("the processes said:\n%s", text[max(0, len(text)-12000):])
		}
	})
	return r
}

// start runs `fairlead up` until stop or the test's end, and waits until the
// console answers.
func (r *rig) start() {
	r.t.Helper()
	r.launch()
	if err := studio.WaitHealthy(r.t.Context(), http.DefaultClient, "http://"+r.config.Console.Listen+"/healthz", time.Minute); err != nil {
		r.t.Fatal(err)
	}
}

// launch starts without waiting.
func (r *rig) launch() {
	r.t.Helper()
	r.up = exec.Command(r.program, "up", "--config", r.config.File())
	r.up.Stderr, r.up.Stdout = r.log, r.log
	in, err := r.up.StdinPipe()
	if err != nil {
		r.t.Fatal(err)
	}
	r.t.Cleanup(func() { in.Close() })
	if err := r.up.Start(); err != nil {
		r.t.Fatal(err)
	}
}

// stop ends the studio as Ctrl-C does.
func (r *rig) stop() {
	if r.up == nil {
		return
	}
	r.up.Process.Signal(syscall.SIGTERM)
	r.up.Wait()
	r.up = nil
}

func (r *rig) must(err error) {
	r.t.Helper()
	if err != nil {
		r.t.Error(err)
	}
}

// processes lists the running children.
func (r *rig) processes() []studio.Running {
	r.t.Helper()
	out, err := r.listed()
	if err != nil {
		r.t.Fatal(err)
	}
	return out
}

func (r *rig) listed() (out []studio.Running, err error) {
	text, err := os.ReadFile(r.config.ProcessesFile())
	if err != nil {
		return nil, err
	}
	return out, json.Unmarshal(text, &out)
}

// powerless kills the supervisor and all its children at once, as a machine
// ends whose power is cut.
func (r *rig) powerless(children []studio.Running) {
	r.up.Process.Kill()
	for _, c := range children {
		if c.Pid != 0 {
			syscall.Kill(c.Pid, syscall.SIGKILL)
		}
	}
	r.up.Wait()
	r.up = nil
}

// replayed has `fairlead replay` rebuild what the log holds, until that equals
// the live tables: the journals may still be filling in what the log lost.
func (r *rig) replayed() {
	r.t.Helper()
	var out []byte
	var err error
	for deadline := time.Now().Add(90 * time.Second); time.Now().Before(deadline); {
		if out, err = exec.Command(r.program, "replay", "--config", r.config.File(), "--json").CombinedOutput(); err == nil {
			return
		}
	}
	r.t.Errorf("replay: %v: %s", err, out)
}

// hit lets the bays hit until ctx ends or the time is over, in the background.
func (r *rig) hit(ctx context.Context, o sim.Options) (wait func() sim.Summary) {
	o.Studio, o.Bays, o.Hand = r.config.Studio, sim.DemoBays(r.dir), &sim.ConsoleHand{URL: "http://" + r.config.Console.Listen}
	o.Truth = io.MultiWriter(r.watch)
	o.Grace = 60 * time.Second
	var summary sim.Summary
	var err error
	done := make(chan struct{})
	go func() {
		defer close(done)
		summary, err = sim.RunBays(ctx, o)
	}()
	return func() sim.Summary {
		<-done
		if err != nil {
			r.t.Errorf("the simulator failed: %v", err)
		}
		return summary
	}
}

// standstill shows what the processes wait for, where what should have come did not.
func (r *rig) standstill() {
	r.t.Helper()
	for _, p := range r.processes() {
		at, err := os.ReadFile(r.config.DataPath("metrics", p.Name))
		if err != nil {
			continue // it has no page of its own
		}
		answer, err := http.Get("http://" + strings.TrimSpace(string(at)) + "/debug/pprof/goroutine?debug=1")
		if err != nil {
			r.t.Logf("%s: %v", p.Name, err)
			continue
		}
		text, err := io.ReadAll(io.LimitReader(answer.Body, 40_000))
		answer.Body.Close()
		r.t.Logf("%s says:\n%s", p.Name, countsOf(strings.TrimSpace(string(at))))
		r.t.Logf("%s waits for: %v\n%s", p.Name, err, text)
	}
}

// check compares truth, journals, log, store and tags; nothing may be wrong.
func (r *rig) check(summary sim.Summary) *demo.Result {
	r.t.Helper()
	result, err := demo.Check(r.t.Context(), r.config, slog.New(slog.DiscardHandler), r.watch, summary)
	if err != nil {
		r.t.Fatal(err)
	}
	if result.Bad() || result.Untagged > 0 {
		r.t.Errorf("%+v", result)
		r.standstill()
	}
	if result.Stored == 0 || result.Sim.Shots == 0 {
		r.t.Errorf("nothing was hit: %+v", result)
	}
	return result
}

// countsOf are the numbers of a process that tell where entries are.
func countsOf(at string) string {
	answer, err := http.Get("http://" + at + "/metrics")
	if err != nil {
		return err.Error()
	}
	defer answer.Body.Close()
	text, _ := io.ReadAll(answer.Body)
	var out []string
	for line := range strings.Lines(string(text)) {
		for _, name := range []string{"fairlead_gap_", "fairlead_relay_", "fairlead_bay_heard", "fairlead_bay_heartbeats", "fairlead_sink_"} {
			if strings.HasPrefix(line, name) && !strings.Contains(line, "_bucket") {
				out = append(out, line)
			}
		}
	}
	return strings.Join(out, "")
}
