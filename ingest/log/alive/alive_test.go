package alive

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestSaysThatItLivesWhileItsPartsTurn(t *testing.T) {
	socket := filepath.Join(t.TempDir(), "s")
	l, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: socket, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	hear := func() string {
		t.Helper()
		words := make([]byte, 100)
		l.SetReadDeadline(time.Now().Add(time.Minute))
		n, err := l.Read(words)
		if err != nil {
			t.Fatal(err)
		}
		return string(words[:n])
	}
	tick, answers := make(chan time.Time), make(chan error, 1)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		keep(ctx, socket, tick, time.Minute, slog.New(slog.DiscardHandler),
			[]Check{{"the loop", func(context.Context) error { return <-answers }}})
	}()
	if got := hear(); !strings.Contains(got, "READY=1") {
		t.Errorf("first it says %q", got)
	}
	answers <- errors.New("stuck")
	tick <- time.Time{}
	tick <- time.Time{} // the first was answered, and nothing said
	answers <- nil
	if got := hear(); got != "WATCHDOG=1" {
		t.Errorf("%q", got)
	}
	cancel()
	for hear() != "STOPPING=1" {
	}
	<-done
}

func TestACheckThatHeedsNothingIsNotWaitedFor(t *testing.T) {
	hang := make(chan struct{})
	defer close(hang)
	why := First(t.Context(), 10*time.Millisecond, Check{"good", func(context.Context) error { return nil }},
		Check{"store", func(context.Context) error { <-hang; return nil }})
	if !strings.HasPrefix(why, "store: ") {
		t.Errorf("%q", why)
	}
}

func TestAskedOfAnother(t *testing.T) {
	env := map[string]string{"NOTIFY_SOCKET": "/s", "WATCHDOG_USEC": "10000000", "WATCHDOG_PID": "7"}
	get := func(k string) string { return env[k] }
	if socket, _ := asked(get, 8); socket != "" {
		t.Error("the parent's watchdog is not the child's")
	}
	if socket, every := asked(get, 7); socket != "/s" || every != 10*time.Second {
		t.Error(socket, every)
	}
	delete(env, "WATCHDOG_USEC")
	if socket, _ := asked(get, 7); socket != "" {
		t.Error("nobody asked")
	}
}
