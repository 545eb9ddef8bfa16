package gate

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"
	"unicode"

	"github.com/gofrs/flock"

	"fairlead/ingest/log/durable"
)

// Account is a person who may sign in.
type Account struct {
	ID    string    `json:"id"` // pseudonym, as events carry it: f-…
	Name  string    `json:"name"`
	Roles []Role    `json:"roles"`
	Made  time.Time `json:"made"`
	// Since: sessions begun before it do not count any more.
	Since    time.Time `json:"since,omitzero"`
	Revoked  time.Time `json:"revoked,omitzero"` // zero: may sign in
	Password string    `json:"password,omitempty"`
	PIN      string    `json:"pin,omitempty"`
	WrongPIN int       `json:"wrong_pin,omitempty"` // in a row
	// Invite is what the code hashes to by which a password is chosen.
	Invite      string    `json:"invite,omitempty"`
	InviteUntil time.Time `json:"invite_until,omitzero"`
	// Login is the name that the provider knows them by, and Subject what the
	// provider's own id of who came by it hashes to.
	Login   string `json:"login,omitempty"`
	Subject string `json:"subject,omitempty"`
}

// Device is a tablet that was paired, or a screen.
type Device struct {
	ID      string    `json:"id"`
	Name    string    `json:"name"`
	Screen  bool      `json:"screen,omitempty"` // shows pictures by itself, and nobody signs in
	Key     string    `json:"key"`              // what its key hashes to
	Made    time.Time `json:"made"`
	By      string    `json:"by"`
	Revoked time.Time `json:"revoked,omitzero"`
}

// Pairing is a code that makes one device.
type Pairing struct {
	Code   string    `json:"code"` // what it hashes to
	Name   string    `json:"name"`
	Screen bool      `json:"screen,omitempty"`
	By     string    `json:"by"`
	Until  time.Time `json:"until"`
}

// people is all that the book keeps.
type people struct {
	Accounts []Account `json:"accounts"`
	Devices  []Device  `json:"devices"`
	Pairings []Pairing `json:"pairings,omitempty"`
}

const (
	inviteFor, pairFor = 24 * time.Hour, 10 * time.Minute
	mostWrongPIN       = 8 // then the PIN is locked until its owner signs in by password
)

// Book is the file of accounts and devices. The console and the hub's terminal
// may change it at the same time: each change is made under a lock, on what the
// file holds then.
type Book struct {
	file string

	mu   sync.Mutex
	seen os.FileInfo // the file that now was read from; nil: none
	now  people
}

// OpenBook opens the book below a folder, which it makes.
func OpenBook(dir string) (*Book, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("accounts: %w", err)
	}
	b := &Book{file: filepath.Join(dir, "accounts.json")}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b, b.read()
}

// read takes in the file if it is another than the one seen last.
func (b *Book) read() error {
	info, err := os.Stat(b.file)
	if errors.Is(err, os.ErrNotExist) {
		b.seen, b.now = nil, people{}
		return nil
	}
	if err != nil {
		return fmt.Errorf("accounts: %w", err)
	}
	if b.seen != nil && os.SameFile(info, b.seen) && info.ModTime().Equal(b.seen.ModTime()) && info.Size() == b.seen.Size() {
		return nil
	}
	if err := Closed(b.file); err != nil {
		return err
	}
	text, err := os.ReadFile(b.file)
	if err != nil {
		return fmt.Errorf("accounts: %w", err)
	}
	var p people
	if err := json.Unmarshal(text, &p); err != nil {
		return fmt.Errorf("accounts %s: %w: put a copy back, or move it away and make the accounts again with `fairlead people add`", b.file, err)
	}
	b.seen, b.now = info, p
	return nil
}

// all is what the file holds now. A file that can't be read lets nobody in.
func (b *Book) all() (people, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	err := b.read()
	if err != nil {
		return people{}, err
	}
	return b.now, nil
}

// change makes a change on what the file holds, and has it on the disk when it
// returns. The change must not keep what it is given.
func (b *Book) change(do func(*people) error) error {
	lock := flock.New(b.file + ".lock")
	if err := lock.Lock(); err != nil {
		return fmt.Errorf("accounts: %w", err)
	}
	defer lock.Unlock()
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.read(); err != nil {
		return err
	}
	text, err := json.Marshal(b.now)
	if err != nil {
		return fmt.Errorf("accounts: %w", err)
	}
	var next people // a copy: who reads meanwhile must not see half of a change
	if err := json.Unmarshal(text, &next); err != nil {
		return fmt.Errorf("accounts: %w", err)
	}
	if err := do(&next); err != nil {
		return err
	}
	if text, err = json.MarshalIndent(next, "", "  "); err != nil {
		return fmt.Errorf("accounts: %w", err)
	}
	if err := durable.WriteFile(b.file, append(text, '\n'), 0o600); err != nil {
		return fmt.Errorf("accounts: %w", err)
	}
	b.seen = nil
	return b.read()
}

// Closed refuses a file that other users of the machine can read or write.
func Closed(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return fmt.Errorf("%s can be read or written by others (mode %03o), so it is not taken: chmod 600 %s, and make what stands in it anew",
			path, info.Mode().Perm(), path)
	}
	return nil
}

// account finds an account that may sign in.
func (p *people) account(id string) *Account {
	for i := range p.Accounts {
		if p.Accounts[i].ID == id && p.Accounts[i].Revoked.IsZero() {
			return &p.Accounts[i]
		}
	}
	return nil
}

// named finds an account that may sign in by its name, however it was typed, or its id.
func (p *people) named(typed string) *Account {
	typed = strings.Join(strings.Fields(typed), " ")
	for i := range p.Accounts {
		if a := &p.Accounts[i]; a.Revoked.IsZero() && (a.ID == typed || strings.EqualFold(a.Name, typed)) {
			return a
		}
	}
	return nil
}

// device finds a paired device by its key.
func (p *people) device(key string) *Device {
	if key == "" {
		return nil
	}
	sum := sumOf(key)
	for i := range p.Devices {
		if p.Devices[i].Key == sum && p.Devices[i].Revoked.IsZero() {
			return &p.Devices[i]
		}
	}
	return nil
}

// CheckName says what is wrong with a name that people are shown: it must show
// whole, as what it is.
func CheckName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || len(name) > 120 {
		return "", fmt.Errorf("name %q: give 1 to 120 bytes", name)
	}
	if strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsGraphic(r) || unicode.Is(unicode.Bidi_Control, r) }) {
		return "", fmt.Errorf("name %q: it holds signs that do not show, or turn the direction of writing: type it again without them", name)
	}
	return name, nil
}
