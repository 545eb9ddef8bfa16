package engine

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// Options says how to start an engine.
type Options struct {
	// Binary is the program, by default bin/fairlead-engine as FindBinary finds it.
	Binary string
	// DataDir is the folder of the database; one process may have it open.
	DataDir string
	// Listen is the loopback address, by default a free port.
	Listen string
	// TokenFile keeps the token between starts, by default DataDir/token. It is made if it is not there.
	TokenFile string
	// Database is used by statements that name none, by default 'fairlead'. It is made if it is not there.
	Database string
	// Memory bounds the engine, such as '2 GiB', which is the default.
	Memory string
	// Stderr takes the engine's log; by default it is only kept for the error of a failed start.
	Stderr io.Writer
	// StartTimeout bounds the wait for a ready engine, by default 60 s: after a crash the engine reads its
	// parts again.
	StartTimeout time.Duration
}

// Process is a running engine. Its methods may be called from several goroutines.
type Process struct {
	addr, token, database, data string

	cmd   *exec.Cmd
	stdin io.Closer
	done  chan struct{}
	err   error
}

// Start starts an engine and waits until it takes statements. It ends when Stop is called, when this process
// dies, or when ctx ends.
func Start(ctx context.Context, o Options) (*Process, error) {
	if o.DataDir == "" {
		return nil, errors.New("start the engine: no data folder given")
	}
	if o.Binary == "" {
		path, err := FindBinary()
		if err != nil {
			return nil, err
		}
		o.Binary = path
	}
	if o.Listen == "" {
		o.Listen = "127.0.0.1:0"
	}
	if o.Database == "" {
		o.Database = "fairlead"
	}
	if o.Memory == "" {
		o.Memory = "2 GiB"
	}
	if o.StartTimeout == 0 {
		o.StartTimeout = time.Minute
	}
	if o.TokenFile == "" {
		o.TokenFile = filepath.Join(o.DataDir, "token")
	}
	// Made before the child starts, so that both know it.
	token, err := EnsureToken(o.TokenFile)
	if err != nil {
		return nil, fmt.Errorf("start the engine: %w", err)
	}
	cmd := exec.Command(o.Binary, "--data", o.DataDir, "--listen", o.Listen, "--token-file", o.TokenFile,
		"--database", o.Database, "--memory", o.Memory, "--parent-stdin")
	ownGroup(cmd)
	last := &tail{next: o.Stderr}
	cmd.Stderr = last
	stdin, err := cmd.StdinPipe()
	if err != nil {
		return nil, fmt.Errorf("start the engine: %w", err)
	}
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		return nil, fmt.Errorf("start the engine: %w", err)
	}
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("start the engine: %w", err)
	}
	p := &Process{token: token, database: o.Database, data: o.DataDir, cmd: cmd, stdin: stdin, done: make(chan struct{})}
	ready := make(chan string, 1)
	go func() {
		lines := bufio.NewScanner(stdout)
		for lines.Scan() {
			if addr, ok := strings.CutPrefix(lines.Text(), "ready http://"); ok {
				ready <- addr
				break
			}
		}
		_, _ = io.Copy(io.Discard, stdout)
		// Wait closes the pipe, so only after it was read to its end.
		p.err = cmd.Wait()
		close(p.done)
	}()

	late := time.NewTimer(o.StartTimeout)
	defer late.Stop()
	select {
	case p.addr = <-ready:
	case <-p.done:
		return nil, fmt.Errorf("start the engine: %s", last.reason(p.err))
	case <-late.C:
		p.Kill()
		return nil, fmt.Errorf("start the engine: not ready within %s: %s", o.StartTimeout, last.reason(nil))
	case <-ctx.Done():
		p.Kill()
		return nil, fmt.Errorf("start the engine: %w", ctx.Err())
	}
	go func() {
		select {
		case <-ctx.Done():
			_ = p.Stop()
		case <-p.done:
		}
	}()
	return p, nil
}

// Done is closed when the process has ended.
func (p *Process) Done() <-chan struct{} { return p.done }

// Err is how the process ended, once Done is closed; nil for a clean end.
func (p *Process) Err() error {
	select {
	case <-p.done:
		return p.err
	default:
		return nil
	}
}

// Users is the folder of the users who may do less than the token.
func (p *Process) Users() string { return filepath.Join(p.data, "users") }

// Statements is the file that says what analysts asked, and what was refused.
func (p *Process) Statements() string { return filepath.Join(p.data, "statements.log") }

// Pid is the process's number.
func (p *Process) Pid() int { return p.cmd.Process.Pid }

// Stop lets the engine end by itself, and kills it after ten seconds. It may be called again.
func (p *Process) Stop() error {
	_ = p.stdin.Close()
	late := time.NewTimer(10 * time.Second)
	defer late.Stop()
	select {
	case <-p.done:
	case <-late.C:
		p.Kill()
	}
	return p.err
}

// Kill ends the process at once, as a crash would, and waits until it is gone.
func (p *Process) Kill() {
	_ = p.cmd.Process.Kill()
	_ = p.stdin.Close()
	<-p.done
}

// tail passes the log on and keeps its last lines: they tell why a start failed.
type tail struct {
	next io.Writer
	mu   sync.Mutex
	kept []byte
}

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	t.kept = append(t.kept, p...)
	if n := len(t.kept) - 4096; n > 0 {
		t.kept = append(t.kept[:0], t.kept[n:]...)
	}
	t.mu.Unlock()
	if t.next != nil {
		_, _ = t.next.Write(p)
	}
	return len(p), nil
}

func (t *tail) reason(err error) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	text := strings.TrimSpace(string(t.kept))
	if i := strings.LastIndex(text, "fairlead-engine: "); i >= 0 {
		return text[i+len("fairlead-engine: "):]
	}
	if text == "" && err != nil {
		return err.Error()
	}
	return text
}
