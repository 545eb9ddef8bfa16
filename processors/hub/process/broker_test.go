package process

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"fairlead/ingest/log/stream"
)

// The broker of these tests is this test program started again as a process of
// its own, so that it can be killed and its disk taken away.
const (
	brokerDir    = "FAIRLEAD_TEST_BROKER"
	brokerListen = "FAIRLEAD_TEST_BROKER_LISTEN"
	brokerKeys   = "FAIRLEAD_TEST_BROKER_KEYS"
	brokerWaits  = "FAIRLEAD_TEST_BROKER_WAITS" // how long for its folder
)

// brokerMain is the child's program; it returns at once in the test program itself.
func brokerMain() {
	dir := os.Getenv(brokerDir)
	if dir == "" {
		return
	}
	o := stream.BrokerOptions{Listen: os.Getenv(brokerListen), DataDir: dir,
		Logger: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))}
	if keys := os.Getenv(brokerKeys); keys != "" {
		o.Keyring = &stream.Keyring{Dir: keys}
	}
	patience, _ := time.ParseDuration(os.Getenv(brokerWaits))
	b, err := stream.AwaitBroker(context.Background(), o, patience)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Println("ready", b.URL())
	ctx, cancel := context.WithCancel(context.Background())
	go func() { io.Copy(io.Discard, os.Stdin); cancel() }()
	err = b.Run(ctx)
	b.Stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

// brokerProcess is a broker that can be killed and started again.
type brokerProcess struct {
	t      *testing.T
	dir    string
	keys   string
	listen string

	mu     sync.Mutex
	cmd    *exec.Cmd
	stdin  io.Closer
	exited chan struct{}
}

func (b *brokerProcess) url() string { return "nats://" + b.listen }

// start starts it, at the address that it had before. A disk that was just put back
// may refuse writes for a moment, which is waited for as `fairlead broker` does.
func (b *brokerProcess) start() {
	b.t.Helper()
	if err := b.try(stream.Patience); err != nil {
		b.t.Fatal(err)
	}
}

// try is start for a broker that may not be able to, not even after some patience.
func (b *brokerProcess) try(patience time.Duration) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	listen := b.listen
	if listen == "" {
		listen = "127.0.0.1:0"
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), brokerDir+"="+b.dir, brokerListen+"="+listen, brokerKeys+"="+b.keys, brokerWaits+"="+patience.String())
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		return fmt.Errorf("the broker did not start: %w", cmd.Wait())
	}
	b.cmd, b.stdin, b.exited = cmd, in, make(chan struct{})
	go func(exited chan struct{}) { cmd.Wait(); close(exited) }(b.exited)
	if b.listen == "" { // it keeps its address, which others read meanwhile
		b.listen = strings.TrimPrefix(strings.TrimSpace(strings.TrimPrefix(line, "ready")), "nats://")
	}
	return nil
}

// life is the life that it is in.
func (b *brokerProcess) life() (*exec.Cmd, io.Closer, chan struct{}) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.cmd, b.stdin, b.exited
}

// stop ends it in good order.
func (b *brokerProcess) stop() {
	_, stdin, exited := b.life()
	stdin.Close()
	<-exited
}

// kill ends it as a crash would.
func (b *brokerProcess) kill() {
	cmd, stdin, exited := b.life()
	cmd.Process.Kill()
	<-exited
	stdin.Close()
}

// keep starts it again whenever it ends, as a supervisor does, until the
// function returned is called.
func (b *brokerProcess) keep() (enough func()) {
	ended, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for {
			_, _, exited := b.life()
			select {
			case <-ended:
				return
			case <-exited:
			}
			for b.try(0) != nil {
				select {
				case <-ended:
					return
				case <-time.After(300 * time.Millisecond):
				}
			}
		}
	}()
	return sync.OnceFunc(func() { close(ended); <-done })
}
