package hub

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"fairlead/ingest/stream"
)

// The broker of these tests is this test program started again as a process of
// its own, so that it can be killed and its disk taken away.
const (
	brokerDir    = "FAIRLEAD_TEST_BROKER"
	brokerListen = "FAIRLEAD_TEST_BROKER_LISTEN"
	brokerKeys   = "FAIRLEAD_TEST_BROKER_KEYS"
)

// brokerMain is the child's program; it returns at once in the test program itself.
func brokerMain() {
	dir := os.Getenv(brokerDir)
	if dir == "" {
		return
	}
	o := stream.BrokerOptions{Listen: os.Getenv(brokerListen), DataDir: dir}
	if keys := os.Getenv(brokerKeys); keys != "" {
		o.Keyring = &stream.Keyring{Dir: keys}
	}
	b, err := stream.StartBroker(o)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Println("ready", b.URL())
	ctx, cancel := context.WithCancel(context.Background())
	go b.WatchKeys(ctx)
	io.Copy(io.Discard, os.Stdin)
	cancel()
	b.Stop()
	os.Exit(0)
}

// brokerProcess is a broker that can be killed and started again.
type brokerProcess struct {
	t      *testing.T
	dir    string
	keys   string
	listen string
	cmd    *exec.Cmd
	stdin  io.Closer
}

func (b *brokerProcess) url() string { return "nats://" + b.listen }

// start starts it, at the address that it had before.
func (b *brokerProcess) start() {
	b.t.Helper()
	if err := b.try(); err != nil {
		b.t.Fatal(err)
	}
}

// try is start for a broker that may not be able to.
func (b *brokerProcess) try() error {
	listen := b.listen
	if listen == "" {
		listen = "127.0.0.1:0"
	}
	b.cmd = exec.Command(os.Args[0])
	b.cmd.Env = append(os.Environ(), brokerDir+"="+b.dir, brokerListen+"="+listen, brokerKeys+"="+b.keys)
	b.cmd.Stderr = os.Stderr
	in, err := b.cmd.StdinPipe()
	if err != nil {
		return err
	}
	out, err := b.cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := b.cmd.Start(); err != nil {
		return err
	}
	b.stdin = in
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		return fmt.Errorf("the broker did not start: %w", b.cmd.Wait())
	}
	b.listen = strings.TrimPrefix(strings.TrimSpace(strings.TrimPrefix(line, "ready")), "nats://")
	return nil
}

// stop ends it in good order.
func (b *brokerProcess) stop() {
	b.stdin.Close()
	b.cmd.Wait()
}

// kill ends it as a crash would.
func (b *brokerProcess) kill() {
	b.cmd.Process.Kill()
	b.cmd.Wait()
	b.stdin.Close()
}
