package evidence

import (
	"encoding/json"
	"math"
	"os"
	"sync"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
)

const proofFile = "../../../testdata/evidence/proof.json"

var (
	proofLock sync.Mutex
	proven    []map[string]any
)

// record notes one result, one JSON object a line in the test's log.
func record(t *testing.T, promise, what string, n glossary.Name, sessions int, result map[string]any) {
	t.Helper()
	result["promise"], result["world"], result["outcome"], result["sessions"] = promise, what, n, sessions
	line, err := json.Marshal(result)
	if err != nil {
		t.Fatal(err)
	}
	t.Log(string(line))
	proofLock.Lock()
	defer proofLock.Unlock()
	proven = append(proven, result)
}

func round(x float64) float64 { return math.Round(x*1e4) / 1e4 }

func TestMain(m *testing.M) {
	code := m.Run()
	if proof.Wanted() && os.Getenv("FAIRLEAD_RECORD") == "1" && len(proven) > 0 {
		text, err := json.MarshalIndent(proven, "", " ")
		if err == nil {
			err = os.WriteFile(proofFile, append(text, '\n'), 0o644)
		}
		if err != nil {
			println("recording the proof:", err.Error())
			code = 1
		}
	}
	os.Exit(code)
}
