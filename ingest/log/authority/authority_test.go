package authority

import (
	"crypto/tls"
	"errors"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

var began = time.Date(2031, 3, 1, 9, 0, 0, 0, time.UTC)

func fresh(t *testing.T, names ...string) *Authority {
	t.Helper()
	a, err := Ensure(filepath.Join(t.TempDir(), "authority"), "harbour-row", names, began)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func leaf(t *testing.T, a *Authority, now func() time.Time, names ...string) *Leaf {
	t.Helper()
	l, err := a.Leaf(names, now)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// meets has a client speak to a listener under a name over a pipe; the error is the client's.
func meets(t *testing.T, server, client *tls.Config, name string) error {
	t.Helper()
	here, there := net.Pipe()
	defer here.Close()
	defer there.Close()
	go func() {
		s := tls.Server(there, server)
		if s.Handshake() == nil {
			s.Write([]byte("x"))
		}
		there.Close()
	}()
	c := client.Clone()
	c.ServerName = name
	conn := tls.Client(here, c)
	if err := conn.Handshake(); err != nil {
		return err
	}
	_, err := conn.Read(make([]byte, 1))
	return err
}

func TestAnAuthorityIsMadeOnceAndItsKeyIsClosed(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "authority")
	var all sync.WaitGroup
	prints := make([]string, 8)
	for i := range prints {
		all.Go(func() {
			a, err := Ensure(dir, "harbour-row", nil, began)
			if err != nil {
				t.Error(err)
				return
			}
			prints[i] = a.Fingerprint()
		})
	}
	all.Wait()
	for _, p := range prints {
		if p != prints[0] || len(p) != 95 {
			t.Errorf("two authorities: %q and %q", p, prints[0])
		}
	}
	entries, _ := os.ReadDir(dir)
	if len(entries) != 2 {
		t.Errorf("files are left: %v", entries)
	}
	info, err := os.Stat(filepath.Join(dir, keyFile))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key's mode: %v, %v", info, err)
	}
	if err := os.Chmod(filepath.Join(dir, keyFile), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir); err == nil || !strings.Contains(err.Error(), "chmod 600") {
		t.Errorf("a key that others read is taken: %v", err)
	}
}

func TestADamagedAuthorityIsNotReplaced(t *testing.T) {
	a := fresh(t)
	path := filepath.Join(a.Dir, keyFile)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	other, err := os.ReadFile(filepath.Join(fresh(t).Dir, keyFile))
	if err != nil {
		t.Fatal(err)
	}
	half, _, _ := strings.Cut(string(text), "-----BEGIN PRIVATE")
	_, foreign, _ := strings.Cut(string(other), "-----BEGIN PRIVATE")
	for name, bad := range map[string]string{"empty": "", "no key": half, "another's key": half + "-----BEGIN PRIVATE" + foreign} {
		if err := os.WriteFile(path, []byte(bad), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Ensure(a.Dir, "harbour-row", nil, began); err == nil || !strings.Contains(err.Error(), "restore it") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestAListenersCertificateIsFollowedBeforeItEnds(t *testing.T) {
	a, now := fresh(t), began
	l := leaf(t, a, func() time.Time { return now })
	first, _ := l.Get(nil)
	for day := range 800 { // more than two years, in which nobody restarts anything
		now = began.Add(time.Duration(day) * 24 * time.Hour)
		c, err := l.Get(nil)
		if err != nil || now.After(c.Leaf.NotAfter) || now.Before(c.Leaf.NotBefore) {
			t.Fatalf("day %d: %v, %v to %v", day, err, c.Leaf.NotBefore, c.Leaf.NotAfter)
		}
	}
	if last, _ := l.Get(nil); last == first {
		t.Error("the first certificate is shown still")
	}
	now = a.Ends().Add(time.Hour)
	if _, err := l.Get(nil); err == nil || !strings.Contains(err.Error(), "authority ended") {
		t.Errorf("after its authority: %v", err)
	}
}

func TestOnlyTheStudiosHubIsSpokenTo(t *testing.T) {
	now := time.Now
	own, foreign := fresh(t, "desk.example"), fresh(t)
	pinned, err := Pinned(own.PEM())
	if err != nil {
		t.Fatal(err)
	}
	near, err := Pinned(own.PEM(), "127.0.0.1", "192.168.4.20")
	if err != nil {
		t.Fatal(err)
	}
	hub := leaf(t, own, now, "desk.example", "192.168.4.20").Config()
	for _, name := range []string{"localhost", "127.0.0.1", "desk.example", "192.168.4.20"} {
		if err := meets(t, hub, near, name); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	elsewhere, err := Pinned(own.PEM(), "192.168.4.21")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]*tls.Config{"192.168.4.21": elsewhere, "127.0.0.1": pinned} {
		if err := meets(t, hub, c, name); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	var stranger *Stranger
	if err := meets(t, hub, pinned, "elsewhere.example"); !errors.As(err, &stranger) || !strings.Contains(err.Error(), "tls.names") {
		t.Errorf("under a name that is not its own: %v", err)
	}
	rogue := leaf(t, foreign, now).Config()
	if err := meets(t, rogue, near, "127.0.0.1"); !errors.As(err, &stranger) || !strings.Contains(err.Error(), "not this studio's hub") {
		t.Errorf("a rogue hub: %v", err)
	}
	// One that shows the true authority's certificate beside its own.
	both := *leafOf(t, rogue)
	both.Certificate = [][]byte{both.Certificate[0], own.DER()}
	if err := meets(t, &tls.Config{Certificates: []tls.Certificate{both}}, near, "127.0.0.1"); !errors.As(err, &stranger) {
		t.Errorf("a rogue hub that shows our authority: %v", err)
	}
	// A bay whose clock is years off still gets through: it sets its clock by the hub's.
	late := leaf(t, own, func() time.Time { return began.AddDate(10, 0, 0) }).Config()
	if err := meets(t, late, near, "127.0.0.1"); err != nil {
		t.Errorf("a clock that is behind: %v", err)
	}
}

func leafOf(t *testing.T, c *tls.Config) *tls.Certificate {
	t.Helper()
	out, err := c.GetCertificate(nil)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The authority that tablets trust can't be used against them for other names.
func TestAnAuthoritySignsNamesOfTheStudioAlone(t *testing.T) {
	a := fresh(t, "desk.example", "203.0.113.7")
	for _, name := range []string{"bank.example", "www.example", "198.51.100.4", "desk.example.org"} {
		if _, err := a.Leaf([]string{name}, time.Now); err == nil || !strings.Contains(err.Error(), "may not sign") {
			t.Errorf("%s: %v", name, err)
		}
		// Signed all the same, by who stole the key: nobody takes it.
		l := &Leaf{by: a, names: []string{name}, now: time.Now}
		pinned, err := Pinned(a.PEM(), name)
		if err != nil {
			t.Fatal(err)
		}
		if err := meets(t, l.Config(), pinned, name); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	for _, name := range []string{"desk.example", "hub.desk.example", "hub.local", "203.0.113.7", "10.1.2.3", "fd00::5"} {
		if _, err := a.Leaf([]string{name}, time.Now); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestCertificatesOfAKeysFile(t *testing.T) {
	a := fresh(t)
	text := "SUAKEY\n" + string(a.PEM()) + "-----BEGIN CERTIFICATE-----\ncut off"
	if got := Certificates([]byte(text)); string(got) != string(a.PEM()) {
		t.Errorf("%s", got)
	}
	if _, err := Pinned([]byte("SUAKEY\n")); err == nil {
		t.Error("no certificate pins something")
	}
}
