package tag

import (
	"flag"
	"os"
	"testing"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
)

func TestMain(m *testing.M) {
	if os.Getenv("FAIRLEAD_PROVE") != "" {
		flag.Set("rapid.checks", "20000")
	} else {
		flag.Set("rapid.checks", "400")
	}
	goleak.VerifyTestMain(enginetest.Wrap(m))
}
