package systemd

import (
	"encoding/xml"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
)

const program = "/opt/fairlead/bin/fairlead "

var units = []string{"fairlead.service", "fairlead-collect@.service"}

func TestUnits(t *testing.T) {
	for _, name := range units {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range []string{"Restart=always", "RestartSec=1", "User=fairlead", "NoNewPrivileges=true", "ProtectSystem=strict",
			"StateDirectory=fairlead", "StartLimitIntervalSec=0"} {
			if !strings.Contains(string(text), "\n"+line+"\n") {
				t.Errorf("%s lacks %s", name, line)
			}
		}
	}
}

// systemd itself reads the units; they name programs that are not installed
// here, so another one stands in for them.
func TestUnitsVerify(t *testing.T) {
	analyze, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Log("NOT VERIFIED: there is no systemd-analyze here (Debian: apt-get install -y systemd)")
		return
	}
	dir := t.TempDir()
	for _, name := range units {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		instance := filepath.Join(dir, strings.Replace(name, "@", "@north", 1))
		if err := os.WriteFile(instance, []byte(strings.ReplaceAll(string(text), program, "/bin/true ")), 0o600); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.CommandContext(t.Context(), analyze, "verify", "--man=no", instance).CombinedOutput(); err != nil || len(out) > 0 {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
		// Exposure of 2.5 or more on systemd's scale of ten fails.
		if out, err := exec.CommandContext(t.Context(), analyze, "security", "--offline=true", "--threshold=25", "--no-pager",
			instance).CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
	}
}

func TestExamplesLoad(t *testing.T) {
	hub, err := studio.Load("studio.yaml")
	if err != nil {
		t.Fatal(err)
	}
	bay, err := studio.Load("bay.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range hub.Children("fairlead") {
		if strings.HasPrefix(c.Name, "collect") {
			t.Errorf("the hub collects %s as well as the bay's PC", c.Name)
		}
	}
	if bay.Studio != hub.Studio || bay.Broker.URL != "nats://"+hub.Broker.Listen || len(bay.Bays) != 1 || len(bay.Bays[0].Feeds) == 0 {
		t.Errorf("the bay reaches %s of %s; the hub is %s of %s", bay.Broker.URL, bay.Studio, hub.Broker.Listen, hub.Studio)
	}
	if _, err := hub.Bay(bay.Bays[0].Name); err != nil {
		t.Error(err)
	}
	if hub.Data != "/var/lib/fairlead" || bay.Data != hub.Data {
		t.Error("the units let only /var/lib/fairlead be written")
	}
}

func TestOtherSystemsFilesAreXML(t *testing.T) {
	for _, name := range []string{"fairlead-collect.plist", "fairlead-collect.xml"} {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(f)
		for {
			if _, err = d.Token(); err != nil {
				break
			}
		}
		f.Close()
		if !errors.Is(err, io.EOF) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Every command line in the units, the plist and the task is one that the
// program takes.
func TestCommandLines(t *testing.T) {
	bin := proof.Program(t, "fairlead")
	found := 0
	for name, pattern := range map[string]string{units[0]: `ExecStart=\S+ (.*)`, units[1]: `ExecStart=\S+ (.*)`, "fairlead-collect.xml": `<Arguments>(.*)</Arguments>`,
		"fairlead-collect.plist": `(?s)fairlead/bin/fairlead</string>\s*(.*?)</array>`} {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(string(text), -1) {
			found++
			line := strings.NewReplacer("<string>", " ", "</string>", " ").Replace(m[1])
			// With --help the flags before it are read, and nothing is run.
			out, err := exec.CommandContext(t.Context(), bin, append(strings.Fields(line), "--help")...).CombinedOutput()
			if err != nil || !strings.Contains(string(out), "fairlead "+strings.Fields(line)[0]) {
				t.Errorf("%s: %s: %v\n%s", name, line, err, out)
			}
		}
	}
	if found != 4 {
		t.Errorf("%d command lines", found)
	}
}
