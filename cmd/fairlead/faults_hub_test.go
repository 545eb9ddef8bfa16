package main

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"fairlead/deploy/backup"
	"fairlead/deploy/powercut"
	"fairlead/deploy/proof"
	"fairlead/ingest/log/durable"
)

// hubRoom is the disk of a troubled hub, bytes; nothing is written for what is held of it.
const hubRoom = 8 << 30

// hold stops a process of the hub, and whatever is started in its place, until it is
// let go: what made it hang is still there.
func (r *troubled) hold(name string) (release func()) {
	r.t.Helper()
	stop, ended := make(chan struct{}), make(chan struct{})
	held, over := 0, false
	hold := func() {
		running, _ := r.listed() // it may be written just now
		for _, p := range running {
			if p.Name == name && p.Pid != 0 && p.Pid != held && syscall.Kill(p.Pid, syscall.SIGSTOP) == nil {
				held = p.Pid
			}
		}
	}
	hold()
	go func() {
		defer close(ended)
		for {
			select {
			case <-stop:
				return
			case <-time.After(20 * time.Millisecond):
				hold()
			}
		}
	}()
	release = func() {
		if !over {
			over = true
			close(stop)
			<-ended
			syscall.Kill(held, syscall.SIGCONT)
		}
	}
	r.t.Cleanup(release)
	return release
}

// hung is a process of the hub that stands still, however often it is started again.
func (r *troubled) hung(name string) fault {
	var release func()
	return fault{name: name + " hung", where: name, what: "stuck", words: []string{"does not answer"},
		unseen: name == "console",
		cause:  func() { r.lives, release = append(r.lives, name), r.hold(name) },
		mend: func() {
			release()
			if dumps, _ := filepath.Glob(r.config.DataPath("dumps", name+"-*.txt")); len(dumps) == 0 {
				r.t.Errorf("%s hung and left no dump", name)
			}
		}}
}

// room is a disk that has so little of it left.
func (r *troubled) room(disk *powercut.Disk, what string, keep int64, words ...string) fault {
	var release func()
	return fault{name: "hub's disk " + what, where: "hub", what: what, words: words,
		cause: func() { release = disk.Hold(keep) }, mend: func() { release() }}
}

// certified writes the certificate of the hub, which ends in so many days.
func (r *troubled) certified(days int) {
	r.t.Helper()
	public, secret, err := ed25519.GenerateKey(nil)
	if err != nil {
		r.t.Fatal(err)
	}
	now := time.Now()
	is := &x509.Certificate{SerialNumber: big.NewInt(now.UnixNano()), DNSNames: []string{"hub.example"}, NotBefore: now.AddDate(0, 0, days-90),
		NotAfter: now.AddDate(0, 0, days)}
	der, err := x509.CreateCertificate(rand.Reader, is, is, public, secret)
	if err != nil {
		r.t.Fatal(err)
	}
	kept, err := x509.MarshalPKCS8PrivateKey(secret)
	if err != nil {
		r.t.Fatal(err)
	}
	for name, block := range map[string]pem.Block{"own.pem": {Type: "CERTIFICATE", Bytes: der},
		"own.key": {Type: "PRIVATE KEY", Bytes: kept}} {
		if err := durable.WriteFile(filepath.Join(r.hub, name), pem.EncodeToMemory(&block), 0o600); err != nil {
			r.t.Fatal(err)
		}
	}
}

// backedUp notes when the newest copy was taken.
func (r *troubled) backedUp(at time.Time) {
	r.t.Helper()
	if err := os.MkdirAll(r.config.DataPath(), 0o700); err != nil {
		r.t.Fatal(err)
	}
	s := backup.State{Began: at, Taken: at, Tried: at}
	if err := s.Write(r.config.BackupStateFile()); err != nil {
		r.t.Fatal(err)
	}
}

// faultsOfTheHub are those that hide none of the bays', nor of each other.
func (r *troubled) faultsOfTheHub() []fault {
	copies := filepath.Join(r.hub, "copies")
	return []fault{
		r.hung("process"),
		{name: "certificate near its end", where: "certificate", what: "ends", words: []string{"tls.cert ends on"},
			cause: func() { r.certified(10) }, mend: func() { r.certified(90) }},
		{name: "back-up old", where: "backup", what: "old", words: []string{"is 3 days old", copies},
			cause: func() {
				r.must(os.WriteFile(copies, nil, 0o600)) // where the folder should be
				r.backedUp(time.Now().AddDate(0, 0, -3))
			},
			mend: func() {}}, // by what mends the next
		{name: "back-up failing", where: "backup", what: "failing", words: []string{"not a directory"},
			cause: func() {
				if exec.Command(r.program, "backup", "--config", r.config.File()).Run() == nil {
					r.t.Error("a backup was taken to where none can be")
				}
			},
			mend: func() { r.must(os.Remove(copies)); r.command("backup") }},
	}
}

// Faults of the hub that hide others: each alone.
func (r *troubled) faultsAlone(disk, ofLog *powercut.Disk, walls *walls) [][]fault {
	out := [][]fault{{r.hung("engine")}, {r.hung("broker")}, {r.hung("console")}}
	if disk != nil {
		full := r.room(ofLog, "full", 0, "nothing more is taken")
		full.name, full.where = "broker's disk full", "broker"
		full.also = []string{"broker, restarted", "bay console, gap"} // it begins anew, and what waited is asked for meanwhile
		out = append(out, []fault{r.room(disk, "full", 0, "nothing more is taken")}, []fault{full})
	}
	return append(out, []fault{{name: "hub's clock stepped", where: "console", what: "skew",
		words: []string{"the hub's wall clock was set 1h0m0s"},
		cause: func() { r.must(walls.set(0, 3600)) }, mend: func() { r.must(walls.set(0, 0)) }}})
}

// TestFaultsOfAStudioAreNamed: what goes wrong in a hub that runs and in its bays is
// named by its cause on the console's page and to people, nothing else is, and its
// end is told too.
func TestFaultsOfAStudioAreNamed(t *testing.T) {
	names := []string{"gone", "sealed", "revoked", "expired"}
	if proof.Wanted() {
		names = append(names, "mute", "refused")
	}
	var disk, ofLog *powercut.Disk
	data := "var"
	if powercut.Possible(t) {
		disk = powercut.New(t, hubRoom)
		data = filepath.Join(disk.Dir(), "var")
		if proof.Wanted() { // the log has a disk of its own
			ofLog = powercut.New(t, hubRoom)
			if err := errors.Join(os.MkdirAll(data, 0o700), os.Symlink(ofLog.Dir(), filepath.Join(data, "broker"))); err != nil {
				t.Fatal(err)
			}
		}
	}
	r := newTroubled(t, data, "tls: {by: files, cert: own.pem, key: own.key}\nbackup: {to: copies}\n", names...)
	r.certified(90)
	r.backedUp(time.Now())
	reached := reaches(t)
	var walls *walls
	if proof.Wanted() {
		walls, r.program = newWalls(t), steppable(t)
	}
	for _, n := range names {
		r.bay(n, "")
		r.bays[n].hit("first.csv", "1,118.4")
		r.bays[n].start(reached)
	}
	r.start()
	r.wellWith(names...)
	faults := append(r.faultsOfBays(), r.faultsOfTheHub()...)
	if disk != nil {
		faults = append(faults, r.room(disk, "low", 900<<20, "nothing more is taken"))
	}
	r.happen(faults...)
	if proof.Wanted() {
		for _, faults := range r.faultsAlone(disk, ofLog, walls) {
			r.happen(faults...)
		}
	}
}
