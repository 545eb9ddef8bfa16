package question

import (
	"testing"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }
