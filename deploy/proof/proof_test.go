package proof

import (
	"context"
	"flag"
	"testing"
	"testing/synctest"
	"time"
)

func TestAWaitEndsWithWhatItWaitsFor(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begun, asked := time.Now(), 0
		Until(t, "a minute is over", func() bool { asked++; return time.Since(begun) >= time.Minute })
		if took := time.Since(begun); took > time.Minute+200*time.Millisecond || asked > 350 {
			t.Errorf("%v, asked %d times", took, asked)
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if Rest(ctx, time.Hour) || time.Since(begun) > 62*time.Second {
			t.Error("a rest goes on after its context")
		}
	})
}

type failing struct {
	testing.TB
	failed bool
}

func (f *failing) Fatalf(string, ...any) { f.failed = true }

func TestAWaitForNothingFails(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &failing{TB: t}
		within(f, time.Second, "never", func() bool { return f.failed })
		if !f.failed {
			t.Error("it did not fail")
		}
	})
}

func TestSeeds(t *testing.T) {
	if n := seedOfRun("7"); n != 7 {
		t.Errorf("seed %d", n)
	}
	if got := flag.Lookup("rapid.seed").Value.String(); got == "0" {
		t.Error("properties draw by chance")
	}
	defer func() {
		if recover() == nil {
			t.Error("nonsense is taken for a seed")
		}
	}()
	seedOfRun("x")
}
