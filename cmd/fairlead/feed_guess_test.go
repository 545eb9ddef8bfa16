package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
)

// endless is a terminal at which nobody answers; the first read says so.
type endless struct {
	io.Reader
	waits chan struct{}
}

func (e endless) Read(p []byte) (int, error) {
	select {
	case e.waits <- struct{}{}:
	default:
	}
	return e.Reader.Read(p)
}

// TestAGuessEndsWhenTold: a question that nobody answers does not keep the
// command from ending, and nothing is written.
func TestAGuessEndsWhenTold(t *testing.T) {
	in, answer := io.Pipe()
	waits := make(chan struct{}, 1)
	ctx, end := context.WithCancelCause(context.Background())
	go func() {
		<-waits
		end(errors.New("told to end"))
	}()
	var out, errs bytes.Buffer
	code := run(ctx, []string{"feed", "guess", "--ask", "../../testdata/feeds/alder.csv"}, endless{in, waits}, &out, &errs)
	if code != 1 || out.Len() > 0 || !strings.Contains(errs.String(), "draft a field map") {
		t.Errorf("exit %d, wrote %q and said %q", code, out.String(), errs.String())
	}
	answer.Close() // lets go of what still reads
}
