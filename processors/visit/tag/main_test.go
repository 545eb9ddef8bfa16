package tag

import (
	"flag"
	"testing"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
)

func TestMain(m *testing.M) {
	if proof.Wanted() {
		flag.Set("rapid.checks", "20000")
	} else {
		flag.Set("rapid.checks", "400")
	}
	goleak.VerifyTestMain(enginetest.Wrap(m))
}
