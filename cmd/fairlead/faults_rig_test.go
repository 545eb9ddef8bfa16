package main

import (
	"encoding/json"
	"fmt"
	"html"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/watch"
)

// troubled is a studio in which things go wrong: a hub by `fairlead up`, and bays
// whose collectors are processes of their own, with folders, configuration and key
// of their own, as on other machines.
type troubled struct {
	*rig
	hub  string // its folder
	bays map[string]*bayPC
	// lives are processes that were started again, which is told of for ten minutes.
	lives []string

	mu   sync.Mutex
	told []told
}

// told is one alarm of a message, when it came.
type told struct {
	at    time.Time
	alarm watch.Alarm
	over  bool
}

// bayPC is the machine of a bay.
type bayPC struct {
	t       *testing.T
	name    string
	dir     string
	config  string
	seed    string
	program string
	run     *exec.Cmd
	log     *lockedBuffer
	as      *syscall.Credential
	env     []string
}

// nobody is who bays' collectors run as, where a test runs as root: root reads what
// it likes, so that nothing would be unreadable.
func nobody() *syscall.Credential {
	if os.Getuid() != 0 {
		return nil
	}
	return &syscall.Credential{Uid: 65534, Gid: 65534}
}

// openDir is a folder that other users reach too.
func openDir(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "fairlead-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

func put(t *testing.T, path, text string) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// newTroubled writes the hub's configuration, with the data in a folder; more is
// added to it.
func newTroubled(t *testing.T, data, more string, bays ...string) *troubled {
	t.Helper()
	r := &troubled{rig: newRig(t, ""), bays: map[string]*bayPC{}}
	r.hub = r.rig.dir
	hook := httptest.NewServer(http.HandlerFunc(r.hear))
	t.Cleanup(hook.Close)
	text := fmt.Sprintf("studio: harbour-row\ndata: %s\nbroker: {listen: %s}\nstore: {listen: %s}\nconsole: {listen: %s, open: true}\n"+
		"metrics: {listen: 127.0.0.1:0}\nnotify: {webhook: {url: %s}}\n%sbays:\n", data, r.config.Broker.Listen, r.config.Store.Listen,
		r.config.Console.Listen, hook.URL, more)
	for _, b := range bays {
		text += "  - name: " + b + "\n"
	}
	put(t, r.config.File(), text)
	var err error
	if r.config, err = studio.Load(r.config.File()); err != nil {
		t.Fatal(err)
	}
	if err := r.config.EnsureKeys(slog.New(slog.DiscardHandler)); err != nil {
		t.Fatal(err)
	}
	return r
}

func (r *troubled) hear(_ http.ResponseWriter, q *http.Request) {
	var m watch.Message
	body, _ := io.ReadAll(q.Body)
	if json.Unmarshal(body, &m) != nil {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, k := range m.Began {
		r.told = append(r.told, told{at: time.Now(), alarm: k.Alarm})
	}
	for _, k := range m.Resolved {
		r.told = append(r.told, told{at: time.Now(), alarm: k.Alarm, over: true})
	}
}

// heard is the first message after a moment of an alarm's beginning or end.
func (r *troubled) heard(after time.Time, where, what string, over bool) (told, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, one := range r.told {
		if one.at.After(after) && one.alarm.Where == where && one.alarm.What == what && one.over == over {
			return one, true
		}
	}
	return told{}, false
}

// others lists what else was told of than what is expected.
func (r *troubled) others(expected func(a watch.Alarm) bool) (out []string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, one := range r.told {
		if !expected(one.alarm) {
			out = append(out, fmt.Sprintf("%s, %s: %s", one.alarm.Where, one.alarm.What, one.alarm.Text))
		}
	}
	return out
}

// bay makes a bay's machine; data is where it keeps its journal, empty: in its folder.
func (r *troubled) bay(name, data string) *bayPC {
	r.t.Helper()
	b := &bayPC{t: r.t, name: name, dir: openDir(r.t), log: &lockedBuffer{}, as: nobody()}
	r.bays[name] = b
	if data == "" {
		data = "var"
	}
	put(r.t, filepath.Join(b.dir, "willow.yaml"), joinedMap)
	b.seed = filepath.Join(b.dir, "key.seed")
	b.bring(r.config.Keyring())
	for _, sub := range []string{"device", "var"} {
		if err := os.MkdirAll(filepath.Join(b.dir, sub), 0o755); err != nil {
			r.t.Fatal(err)
		}
	}
	b.config = put(r.t, filepath.Join(b.dir, "studio.yaml"), fmt.Sprintf("studio: harbour-row\ndata: %s\n"+
		"broker: {url: nats://%s, seed: key.seed}\n"+
		"metrics: {listen: 127.0.0.1:0}\nbays:\n  - name: %s\n    feeds: [{name: willow, map: willow.yaml, folder: device, settle: 100ms}]\n",
		data, r.config.Broker.Listen, name))
	return b
}

// bring copies the bay's key from the hub, as somebody brings it over.
func (b *bayPC) bring(k stream.Keyring) {
	b.t.Helper()
	seed, err := os.ReadFile(k.SeedFile(stream.BayCredential(b.name)))
	if err != nil {
		b.t.Fatal(err)
	}
	put(b.t, b.seed, string(seed))
	b.own(b.seed)
	if err := os.Chmod(b.seed, 0o600); err != nil {
		b.t.Fatal(err)
	}
}

// own gives a path to whom the collector runs as.
func (b *bayPC) own(path string) {
	b.t.Helper()
	if b.as == nil {
		return
	}
	err := filepath.WalkDir(path, func(p string, _ os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Lchown(p, int(b.as.Uid), int(b.as.Gid))
	})
	if err != nil {
		b.t.Fatal(err)
	}
}

// start runs the collector until the test ends.
func (b *bayPC) start(program string) {
	b.t.Helper()
	b.own(b.dir)
	b.program = program
	b.run = exec.Command(program, "collect", "--config", b.config, "--bay", b.name)
	b.run.Dir, b.run.Env = b.dir, append(os.Environ(), b.env...)
	b.run.Stdout, b.run.Stderr = b.log, b.log
	b.run.SysProcAttr = &syscall.SysProcAttr{Credential: b.as}
	if err := b.run.Start(); err != nil {
		b.t.Fatalf("%v: can every user reach %s?", err, program)
	}
	b.t.Cleanup(func() {
		b.stop()
		if b.t.Failed() {
			text := b.log.String()
			b.t.Logf("bay %s said:\n%s", b.name, text[max(0, len(text)-1500):])
		}
	})
}

func (b *bayPC) stop() {
	if b.run != nil {
		b.run.Process.Signal(syscall.SIGCONT)
		b.run.Process.Signal(syscall.SIGTERM)
		b.run.Wait()
		b.run = nil
	}
}

// device is a path in the folder where the bay's device writes.
func (b *bayPC) device(name string) string { return filepath.Join(b.dir, "device", name) }

// hit writes a file of shots as the device does; each has a number of its own.
func (b *bayPC) hit(file string, shots ...string) {
	b.t.Helper()
	put(b.t, b.device(file), "No,Ball\n"+strings.Join(shots, "\n")+"\n")
	b.own(b.device(file))
}

// reaches copies the programs to where every user reaches them.
func reaches(t *testing.T) string {
	t.Helper()
	from := program(t)
	if nobody() == nil {
		return from
	}
	to := filepath.Join(openDir(t), "fairlead")
	text, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, text, 0o755)
	}
	if err != nil {
		t.Fatal(err)
	}
	return to
}

// shown is one card of the console's page of what is wrong.
type shown struct{ where, what, text string }

var (
	cardRule = regexp.MustCompile(`(?s)<section class="card" data-where="([^"]*)"><h2>(.*?)</h2><p>(.*?)</p>`)
	tagRule  = regexp.MustCompile(`(?s)<span.*?</span>`)
)

// page reads the console's page of what is wrong, as a person opens it.
func (r *troubled) page() (out []shown, err error) {
	client := http.Client{Timeout: 5 * time.Second}
	answer, err := client.Get("http://" + r.config.Console.Listen + "/ops")
	if err != nil {
		return nil, err
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("%s: %w", answer.Status, err)
	}
	for _, m := range cardRule.FindAllStringSubmatch(string(text), -1) {
		head := strings.TrimSpace(html.UnescapeString(tagRule.ReplaceAllString(m[2], "")))
		where := html.UnescapeString(m[1])
		out = append(out, shown{where, strings.TrimPrefix(head, where+": "), html.UnescapeString(m[3])})
	}
	return out, nil
}

// command runs one of the program's commands against the hub.
func (r *troubled) command(args ...string) {
	r.t.Helper()
	if out, err := exec.Command(r.program, append(args, "--config", r.config.File())...).CombinedOutput(); err != nil {
		r.t.Errorf("%v: %v\n%s", args, err, out)
	}
}
