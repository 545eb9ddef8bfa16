// Package people keeps the names behind the pseudonyms that visit events and
// stored shots carry. Names stand in one small file on the hub and nowhere
// else, sealed under each person's key, so that to erase a name is one write and
// copies of the file lose it with the key.
package people

import (
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/vault"
)

// Role is what a person is in the studio.
type Role string

// The roles.
const (
	Player Role = "player"
	Fitter Role = "fitter"
)

// Person is one name.
type Person struct {
	ID   string `json:"id"` // pseudonym: p-… for players, f-… for fitters
	Role Role   `json:"role"`
	Name string `json:"name"`
	Hand string `json:"hand,omitempty"` // right, left; empty: not known
	Note string `json:"note,omitempty"`
}

// Store is the file of names. It may be used concurrently.
type Store struct {
	file string
	keys *vault.Ring
	mu   sync.Mutex
	all  map[string]Person
	lost map[string]Person // as the file has them, whose key is not there
}

// ValidID says whether a text can be a pseudonym.
func ValidID(id string) bool { return idRule.MatchString(id) }

var idRule = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._:-]{0,63}$`)

// ErrUnknown is returned for an id that the store does not hold.
var ErrUnknown = errors.New("no such person")

// Open reads the file with the keys beside it; one that is not there holds nobody yet.
func Open(file string) (*Store, error) {
	keys, err := vault.Open(vault.Beside(file))
	if err != nil {
		return nil, err
	}
	return OpenWith(file, keys)
}

// OpenWith is Open with keys that are open already.
func OpenWith(file string, keys *vault.Ring) (*Store, error) {
	s := &Store{file: file, keys: keys, all: map[string]Person{}, lost: map[string]Person{}}
	list, err := durable.ReadJSON[[]Person](file)
	if err != nil {
		return nil, fmt.Errorf("people %s: %w: mend the file, or move it away and enter the names again", file, err)
	}
	gone := keys.Gone()
	for _, p := range list {
		sealed := p
		p.Name, p.Note = keys.Open(p.Name), keys.Open(p.Note)
		if p.Name == event.Unreadable {
			if _, forgotten := gone[p.ID]; forgotten {
				continue // the file is of before
			}
			s.lost[p.ID] = sealed
		}
		s.all[p.ID] = p
	}
	return s, nil
}

// Seal seals what an earlier version wrote in clear.
func (s *Store) Seal() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.all) == 0 {
		return nil
	}
	return s.write()
}

// Wrong says which field of a person can't be taken, and why.
type Wrong struct{ Field, Text string }

func (w *Wrong) Error() string { return w.Text }

// Put adds a person, or changes the one of that id; without an id it gives a
// new pseudonym. It returns when the file is on the disk.
func (s *Store) Put(p Person) (Person, error) {
	p.Name, p.Note = strings.TrimSpace(p.Name), strings.TrimSpace(p.Note)
	switch {
	case p.Name == "" || len(p.Name) > 200:
		return p, &Wrong{"name", fmt.Sprintf("name %q: give 1 to 200 bytes", p.Name)}
	case strings.ContainsFunc(p.Name+p.Note, func(r rune) bool { return !unicode.IsGraphic(r) || unicode.Is(unicode.Bidi_Control, r) }):
		return p, &Wrong{"name", "name or note: holds signs that do not show, or turn the direction of writing; write it again without them"}
	case event.HoldsSealed(p.Name + p.Note):
		return p, &Wrong{"name", "name or note: looks like a text that was sealed; write it again in words"}
	case len(p.Note) > 2000:
		return p, &Wrong{"note", "note: longer than 2000 bytes; shorten it"}
	case p.Role != Player && p.Role != Fitter:
		return p, &Wrong{"role", fmt.Sprintf("role %q: use player or fitter", p.Role)}
	case p.Hand != "" && p.Hand != "right" && p.Hand != "left":
		return p, &Wrong{"hand", fmt.Sprintf("hand %q: use right or left", p.Hand)}
	case p.ID != "" && !idRule.MatchString(p.ID):
		return p, &Wrong{"id", fmt.Sprintf("id %q: use 1 to 64 letters, digits, '.', '_', ':' and '-'", p.ID)}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if p.ID == "" {
		p.ID = s.fresh(p.Role)
	}
	old, had := s.all[p.ID]
	s.all[p.ID] = p
	if err := s.write(); err != nil {
		delete(s.all, p.ID)
		if had {
			s.all[p.ID] = old
		}
		return p, err
	}
	return p, nil
}

// Erase removes a name. The pseudonym stays in what was stored, and says
// nothing any more.
func (s *Store) Erase(id string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	old, had := s.all[id]
	if !had {
		return fmt.Errorf("%w: %s", ErrUnknown, id)
	}
	delete(s.all, id)
	if err := s.write(); err != nil {
		s.all[id] = old
		return err
	}
	return nil
}

// Get returns a person.
func (s *Store) Get(id string) (Person, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	p, ok := s.all[id]
	return p, ok
}

// Name is the person's name, or the pseudonym where none is known.
func (s *Store) Name(id string) string {
	if p, ok := s.Get(id); ok {
		return p.Name
	}
	return id
}

// List returns the people of a role, or of all roles for "", by name.
func (s *Store) List(r Role) []Person {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := []Person{}
	for _, p := range s.all {
		if r == "" || p.Role == r {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b Person) int {
		if c := strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return out
}

// fresh makes a pseudonym that tells nothing of the person, not even the order
// in which they came. Five letters read aloud without mistakes.
func (s *Store) fresh(r Role) string {
	const letters = "bcdfghjkmnpqrstvwxz23456789"
	for {
		var b [5]byte
		rand.Read(b[:])
		for i := range b {
			b[i] = letters[int(b[i])%len(letters)]
		}
		if id := string(r[0]) + "-" + string(b[:]); s.all[id].ID == "" {
			return id
		}
	}
}

// write replaces the file: a temporary one is synced and renamed, and the
// folder is synced, so that a power cut leaves the old file or the new one.
func (s *Store) write() error {
	list := make([]Person, 0, len(s.all))
	for _, p := range s.all {
		if kept, lost := s.lost[p.ID]; lost && p.Name == event.Unreadable {
			list = append(list, kept)
			continue
		}
		var err, wrong error
		p.Name, err = s.keys.Seal(vault.Owner{Player: p.ID}, p.Name)
		p.Note, wrong = s.keys.Seal(vault.Owner{Player: p.ID}, p.Note)
		if err = errors.Join(err, wrong); err != nil {
			return fmt.Errorf("people: %w", err)
		}
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b Person) int { return strings.Compare(a.ID, b.ID) })
	if err := os.MkdirAll(filepath.Dir(s.file), 0o700); err != nil {
		return fmt.Errorf("people: %w", err)
	}
	if err := durable.WriteJSON(s.file, list); err != nil {
		return fmt.Errorf("people: %w", err)
	}
	return nil
}

// Names reads the names of a file by their ids. Unlike Open it wants the file to
// be there.
func Names(file string) (map[string]string, error) {
	if _, err := os.Stat(file); err != nil {
		return nil, fmt.Errorf("there is no file of people %s", file)
	}
	s, err := Open(file)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, person := range s.List("") {
		names[person.ID] = person.Name
	}
	return names, nil
}
