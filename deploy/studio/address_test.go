package studio

import (
	"context"
	"log/slog"
	"os"
	"slices"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/log/expose"
)

// A second process of a name does not hide the first one from who scrapes them, and
// one that takes a dead one's place has its name.
func TestASecondProcessHasAnAddressOfItsOwn(t *testing.T) {
	c, err := parse([]byte("studio: harbour-row\ndata: var\nbays: [{name: north}]\n"), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	begin := func(process string) (address string, end func()) {
		t.Helper()
		ctx, cancel := context.WithCancel(t.Context())
		address, err := expose.Serve(ctx, "127.0.0.1:0", expose.NewRegistry(process, "1"), slog.New(slog.DiscardHandler))
		if err == nil {
			err = c.SayAddress(ctx, process, address)
		}
		if err != nil {
			t.Fatal(err)
		}
		return address, cancel
	}
	is := func(what string, want ...string) {
		t.Helper()
		proof.Until(t, what, func() bool {
			var at []string
			for _, target := range c.Targets() {
				if target.Labels["job"] == "process" {
					at = append(at, target.Targets...)
				}
			}
			return slices.Equal(at, want)
		})
	}
	one, endOne := begin("process")
	two, endTwo := begin("process")
	is("both are listed", one, two)
	if c.Address("process") != one {
		t.Error("the second hides the first")
	}
	endTwo()
	is("the second is gone", one)
	endOne()
	proof.Until(t, "the first ended", func() bool { return !c.another(t.Context(), "process", "process", "") })
	three, end := begin("process")
	is("another has its place", three)
	end()
	console, endConsole := begin("console")
	defer endConsole()
	if err := os.WriteFile(c.addressFile("process"), []byte(console+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	four, end := begin("process")
	defer end()
	is("what became another process's address is no processor", four)
}
