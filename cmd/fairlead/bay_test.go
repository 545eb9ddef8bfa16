package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/bays"
)

const joinedMap = `map: 1
device: willow
role: ball
format: csv
shot_id: {column: No}
fields:
  ball_speed: {column: Ball, unit: mph}
`

// TestABayEnrols: one line from the hub, one on the bay's machine, and shots come;
// what the bay reads is changed on the hub while it runs, and comes back when a
// feed stops parsing. All of it in real processes.
func TestABayEnrols(t *testing.T) {
	r := newRig(t, "")
	text := fmt.Sprintf("studio: harbour-row\nbroker: {listen: %s}\nstore: {listen: %s}\nconsole: {listen: %s, open: true}\n"+
		"metrics: {listen: 127.0.0.1:0}\nbays: [{name: south}]\n", r.config.Broker.Listen, r.config.Store.Listen, r.config.Console.Listen)
	hub, pc := r.config.File(), t.TempDir()
	put(t, hub, text)
	var err error
	if r.config, err = studio.Load(hub); err != nil {
		t.Fatal(err)
	}
	r.start()
	fairlead := func(args ...string) (string, error) {
		out, err := exec.Command(r.program, args...).CombinedOutput()
		return string(out), err
	}
	file := filepath.Join(pc, "device", "shots.csv")
	put(t, file, "No,Ball\n")
	put(t, filepath.Join(r.dir, "willow.yaml"), joinedMap)
	feeds := put(t, filepath.Join(r.dir, "north.yaml"), "feeds:\n  - {name: willow, map: willow.yaml, tail: "+file+"}\n")

	said, err := fairlead("bay", "add", "north", "--feeds", feeds, "--config", hub, "--json")
	var line bays.Line
	if err != nil || json.Unmarshal([]byte(said), &line) != nil {
		t.Fatalf("bay add: %v\n%s", err, said)
	}
	address := strings.Split(line.Text, "'")[1]

	join := func(name, address string) (*exec.Cmd, *lockedBuffer) {
		dir := filepath.Join(pc, name)
		c := exec.Command(r.program, "bay", "join", address, "--dir", dir,
			"--data", filepath.Join(dir, "var"), "--service", "none", "--wait", "0s")
		out := &lockedBuffer{}
		c.Stdout, c.Stderr = out, out
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			c.Process.Signal(syscall.SIGTERM)
			c.Wait()
			if t.Failed() {
				t.Logf("%s said:\n%s", name, out)
			}
		})
		return c, out
	}
	_, out := join("one", address)
	proof.Until(t, "the collector runs", func() bool { return strings.Contains(out.String(), "hit a shot") })
	hit := func(line string) {
		t.Helper()
		f, err := os.OpenFile(file, os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		fmt.Fprintln(f, line)
	}
	hit("1,118.4")
	proof.Until(t, "the first shot went through", func() bool { return strings.Contains(out.String(), "the first shot went through") })

	// A second machine gets nothing with the same line, nor does who guesses.
	for _, other := range []string{address, strings.Replace(address, "/north/", "/south/", 1), address[:len(address)-4] + "AAAA"} {
		c, out := join("two", other)
		if err := c.Wait(); err == nil || !strings.Contains(out.String(), "was used by another machine") {
			t.Errorf("%s: %v\n%s", other, err, out)
		}
	}

	goes := func(want string) func() bool {
		return func() bool {
			said, err := fairlead("bay", "list", "--config", hub)
			return err == nil && strings.Contains(said, want)
		}
	}
	proof.Until(t, "the hub knows what the bay goes by", goes("goes by version 1"))

	// A map that refuses every line is taken back by the bay itself.
	put(t, filepath.Join(r.dir, "willow.yaml"), strings.Replace(joinedMap, "column: Ball", "column: Carry", 1))
	said, err = fairlead("bay", "config", "put", "north", feeds, "--config", hub)
	if err != nil || !strings.Contains(said, "map willow.yaml: changed") {
		t.Fatalf("%v\n%s", err, said)
	}
	proof.Until(t, "the new map is in force", func() bool { return strings.Contains(out.String(), "the hub's configuration is in force") })
	for n := 2; n < 8; n++ {
		hit(fmt.Sprintf("%d,11%d.5", n, n))
	}
	proof.Until(t, "it was taken back", goes("goes by version 1, not by 2: feed willow stopped parsing"))

	// One that is right is taken up, without another life of the process.
	put(t, filepath.Join(r.dir, "willow.yaml"), joinedMap+"  club_speed: {column: Club, unit: mph, optional: true}\n")
	if said, err := fairlead("bay", "config", "put", "north", feeds, "--config", hub); err == nil {
		t.Fatalf("a field that is none was kept: %s", said)
	}
	put(t, filepath.Join(r.dir, "willow.yaml"), strings.Replace(joinedMap, "willow\n", "willow-2\n", 1))
	if said, err := fairlead("bay", "config", "put", "north", feeds, "--config", hub); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	proof.Until(t, "the bay goes by it", goes("goes by version 3"))

	// The hub says what changed when it is told to look.
	put(t, hub, strings.Replace(text, "bays: [", "units: imperial\nbays: [{name: quay}, ", 1))
	if err := r.up.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "the change is taken up", func() bool {
		return strings.Contains(r.log.String(), `"bay quay: new"`) && strings.Contains(r.log.String(), "units is")
	})
	if r.config, err = studio.Load(hub); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "the console knows the bay", func() bool {
		resp, err := http.Get("http://" + r.config.Console.Listen + "/bays/quay")
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
	put(t, hub, "studio: [\n")
	r.up.Process.Signal(syscall.SIGHUP)
	proof.Until(t, "a broken configuration is refused", func() bool { return strings.Contains(r.log.String(), "is not taken up") })
	put(t, hub, text)
	if said, err := fairlead("bay", "add", "console", "--config", hub); err == nil || bytes.Contains([]byte(said), []byte("http")) {
		t.Errorf("the console as a bay: %s", said)
	}
}
