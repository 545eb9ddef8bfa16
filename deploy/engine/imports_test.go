package engine_test

import (
	"os/exec"
	"strings"
	"testing"
)

// The bay's binary and everything that programs share must stay free of the dynamic loader: it would make them
// need glibc, and the engine's library.
func TestOnlyTheEngineLinksTheLoader(t *testing.T) {
	for _, pkg := range []string{"fairlead/cmd/fairlead", "fairlead/deploy/engine", "fairlead/deploy/engine/enginetest"} {
		out, err := exec.Command("go", "list", "-deps", pkg).CombinedOutput()
		if err != nil {
			t.Fatalf("go list %s: %v\n%s", pkg, err, out)
		}
		for _, dep := range strings.Fields(string(out)) {
			if strings.HasPrefix(dep, "github.com/ebitengine/purego") || dep == "fairlead/deploy/engine/chdb" {
				t.Errorf("%s imports %s", pkg, dep)
			}
		}
	}
}
