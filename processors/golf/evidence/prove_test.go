package evidence

import (
	"encoding/json"
	"fairlead/ingest/contract/glossary"
	"math"
	"os"
	"sync"
	"testing"
)

// proving says that the full simulations were asked for: FAIRLEAD_PROVE=1. With
// FAIRLEAD_RECORD=1 as well, results go to testdata/evidence/proof.json.
func proving() bool { return os.Getenv("FAIRLEAD_PROVE") == "1" }

const proofFile = "../../../testdata/evidence/proof.json"

var (
	proofLock sync.Mutex
	proof     []map[string]any
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
	proof = append(proof, result)
}

func round(x float64) float64 { return math.Round(x*1e4) / 1e4 }

func TestMain(m *testing.M) {
	code := m.Run()
	if proving() && os.Getenv("FAIRLEAD_RECORD") == "1" && len(proof) > 0 {
		text, err := json.MarshalIndent(proof, "", " ")
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
