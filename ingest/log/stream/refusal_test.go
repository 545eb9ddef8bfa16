package stream

import (
	"bytes"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"github.com/nats-io/nkeys"
)

// A bay whose key was taken back comes again and again: the broker says so once, and
// each minute.
func TestARefusedBayIsNotSaidEachTime(t *testing.T) {
	var out bytes.Buffer
	a := &slogAdapter{log: slog.New(slog.NewTextHandler(&out, nil)), often: seldom(), failed: func() {}}
	refused := func(key string, n int) {
		for i := range n {
			a.Errorf("%s", fmt.Sprintf("127.0.0.1:%d - cid:%d - authentication error - Nkey %q", 41000+i, i, key))
		}
	}
	keys := make([]string, 2)
	for i := range keys {
		pair, err := nkeys.CreateUser()
		if err != nil {
			t.Fatal(err)
		}
		if keys[i], err = pair.PublicKey(); err != nil {
			t.Fatal(err)
		}
	}
	refused(keys[0], 50)
	refused(keys[1], 50)
	if n := strings.Count(out.String(), "authentication error"); n != 2 || !strings.Contains(out.String(), keys[1]) {
		t.Errorf("%d lines: %s", n, out.String())
	}
	a.Errorf("another thing, cid:%d", 7)
	if !strings.Contains(out.String(), "another thing, cid:7") {
		t.Errorf("other lines are kept back: %s", out.String())
	}
}
