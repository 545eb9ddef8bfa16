// Package vault keeps the keys under which free text of people is sealed: one for
// each person's name and note, one for each of the person's sessions, and one for
// what belongs to nobody. The file stands on the hub and in no ordinary copy of it;
// to destroy the keys of a person makes every copy of what was written about them
// unreadable at once, wherever it is.
package vault

import (
	"crypto/rand"
	"encoding/base32"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/crypto/chacha20poly1305"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
)

// Owner is whose text it is: of a session, or of the person where it is empty.
// The zero owner is nobody, whose key is never destroyed.
type Owner struct{ Player, Session string }

type key struct {
	ID      string `json:"id"`
	Player  string `json:"player,omitempty"`
	Session string `json:"session,omitempty"`
	Secret  []byte `json:"secret"`
}

// Forgotten is what was destroyed, and is to stay so.
type Forgotten struct {
	Players  map[string]time.Time `json:"players,omitempty"`
	Sessions map[string]time.Time `json:"sessions,omitempty"`
}

type contents struct {
	Keys      []key     `json:"keys"`
	Forgotten Forgotten `json:"forgotten"`
}

// Ring is the file of keys. It may be used concurrently; one process alone, the
// console, may change it.
type Ring struct {
	file string
	mu   sync.Mutex
	contents
	byID map[string]key
	own  map[Owner]key // as keyed tells owners apart
}

// Beside is the file of keys of a file of people.
func Beside(people string) string { return filepath.Join(filepath.Dir(people), "people.keys") }

// Open reads the keys; a file that is not there holds none yet. One that others
// may read is refused.
func Open(file string) (*Ring, error) {
	r := &Ring{file: file}
	info, err := os.Stat(file)
	if err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("keys of people %s: others may read it (mode %04o): `chmod 600 %s`, and look who did", file,
			info.Mode().Perm(), file)
	}
	if r.contents, err = durable.ReadJSON[contents](file); err != nil {
		return nil, fmt.Errorf("keys of people %s: %w: take it from a backup; without it names and words can't be read", file, err)
	}
	r.index()
	return r, nil
}

func (r *Ring) index() {
	r.byID, r.own = make(map[string]key, len(r.Keys)), make(map[Owner]key, len(r.Keys))
	for _, k := range r.Keys {
		r.byID[k.ID] = k
		if o := keyed(Owner{k.Player, k.Session}); r.own[o].ID == "" {
			r.own[o] = k
		}
	}
}

// Seal gives what stands in the place of a text. The first text of an owner makes
// the key, which is on the disk before. What is sealed already, and no text, stay
// as they are; what is said of a session that was forgotten is left out.
func (r *Ring) Seal(o Owner, text string) (string, error) {
	if text == "" || event.IsSealed(text) {
		return text, nil
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, gone := r.Forgotten.Sessions[o.Session]; gone && o.Session != "" {
		return event.Unreadable, nil
	}
	k, err := r.of(o)
	if err != nil {
		return "", err
	}
	return event.SealedText(k.ID, k.seal(text)), nil
}

func (r *Ring) of(o Owner) (key, error) {
	if k, ok := r.own[keyed(o)]; ok {
		return k, nil
	}
	k := fresh(o)
	next := r.contents
	next.Keys = append(next.Keys[:len(next.Keys):len(next.Keys)], k)
	return k, r.write(next)
}

func fresh(o Owner) key {
	k := key{Player: o.Player, Session: o.Session, Secret: make([]byte, chacha20poly1305.KeySize)}
	rand.Read(k.Secret)
	var id [10]byte
	rand.Read(id[:])
	k.ID = strings.ToLower(base32.StdEncoding.EncodeToString(id[:]))
	return k
}

// Prepare makes the keys of owners that have none yet, all in one writing, and
// forgets sessions: what is said of those is left out when it is sealed.
func (r *Ring) Prepare(owners []Owner, forgotten []string, now time.Time) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	next := contents{Keys: append([]key(nil), r.Keys...), Forgotten: Forgotten{Players: r.Forgotten.Players,
		Sessions: map[string]time.Time{}}}
	for s, at := range r.Forgotten.Sessions {
		next.Forgotten.Sessions[s] = at
	}
	for _, s := range forgotten {
		if s != "" && next.Forgotten.Sessions[s].IsZero() {
			next.Forgotten.Sessions[s] = now.UTC().Truncate(time.Second)
		}
	}
	gone := func(session string) bool { return session != "" && !next.Forgotten.Sessions[session].IsZero() }
	next.Keys = slices.DeleteFunc(next.Keys, func(k key) bool { return gone(k.Session) })
	have := map[Owner]bool{}
	for _, k := range next.Keys {
		have[keyed(Owner{k.Player, k.Session})] = true
	}
	for _, o := range owners {
		if !gone(o.Session) && !have[keyed(o)] {
			have[keyed(o)] = true
			next.Keys = append(next.Keys, fresh(o))
		}
	}
	if len(next.Keys) == len(r.Keys) && len(next.Forgotten.Sessions) == len(r.Forgotten.Sessions) {
		return nil
	}
	return r.write(next)
}

// keyed is what tells the keys apart: a session has one, whoever's it is.
func keyed(o Owner) Owner {
	if o.Session != "" {
		o.Player = ""
	}
	return o
}

// Open puts the text in the place of each sealed text that a key is there for.
func (r *Ring) Open(text string) string { return event.Unseal(text, r.unseal) }

// OpenJSON is Open for texts that stand in strings of a JSON document.
func (r *Ring) OpenJSON(data []byte) []byte {
	if !event.HoldsSealed(data) {
		return data
	}
	return []byte(event.Unseal(string(data), func(id string, box []byte) string {
		quoted, err := json.Marshal(r.unseal(id, box))
		if err != nil {
			return event.Unreadable
		}
		return string(quoted[1 : len(quoted)-1])
	}))
}

func (r *Ring) unseal(id string, box []byte) string {
	r.mu.Lock()
	defer r.mu.Unlock()
	if k, ok := r.byID[id]; ok {
		if text, err := k.open(box); err == nil {
			return text
		}
	}
	return event.Unreadable
}

// Own says whose a session is: a correction may have named another player.
func (r *Ring) Own(session, player string) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	for i, k := range r.Keys {
		if session != "" && k.Session == session && k.Player != player {
			next := r.contents
			next.Keys = append([]key(nil), r.Keys...)
			next.Keys[i].Player = player
			return r.write(next)
		}
	}
	return nil
}

// Forget destroys the keys of a person and of all sessions that are known to be
// theirs, and of the sessions named. It may be said again.
func (r *Ring) Forget(player string, sessions []string, now time.Time) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	next := contents{Forgotten: Forgotten{map[string]time.Time{}, map[string]time.Time{}}}
	for p, at := range r.Forgotten.Players {
		next.Forgotten.Players[p] = at
	}
	for s, at := range r.Forgotten.Sessions {
		next.Forgotten.Sessions[s] = at
	}
	now = now.UTC().Truncate(time.Second)
	named := map[string]bool{}
	for _, s := range sessions {
		named[s] = s != ""
		if s != "" && next.Forgotten.Sessions[s].IsZero() {
			next.Forgotten.Sessions[s] = now
		}
	}
	if player != "" {
		next.Forgotten.Players[player] = now
	}
	for _, k := range r.Keys {
		if named[k.Session] || player != "" && k.Player == player {
			if k.Session != "" {
				next.Forgotten.Sessions[k.Session] = now
			}
			continue
		}
		next.Keys = append(next.Keys, k)
	}
	return r.write(next)
}

// Gone lists the people who were forgotten, with the time.
func (r *Ring) Gone() map[string]time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	out := map[string]time.Time{}
	for p, at := range r.Forgotten.Players {
		out[p] = at
	}
	return out
}

// Forgot says whether a session was forgotten.
func (r *Ring) Forgot(session string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	_, gone := r.Forgotten.Sessions[session]
	return gone
}

// write puts the keys on the disk. What the old file held is written over before
// it goes: a disk that writes in place holds destroyed keys no more.
func (r *Ring) write(next contents) error {
	if err := os.MkdirAll(filepath.Dir(r.file), 0o700); err != nil {
		return fmt.Errorf("keys of people: %w", err)
	}
	durable.Clear(r.file)
	old, err := os.OpenFile(r.file, os.O_WRONLY, 0)
	if err != nil && !os.IsNotExist(err) {
		return fmt.Errorf("keys of people: %w", err)
	}
	if err == nil {
		defer old.Close()
	}
	if err := durable.WriteJSON(r.file, next); err != nil {
		return fmt.Errorf("keys of people: %w", err)
	}
	r.contents = next
	r.index()
	if old != nil {
		blank(old)
	}
	return nil
}

func blank(f *os.File) {
	info, err := f.Stat()
	if err != nil {
		return
	}
	if _, err := f.WriteAt(make([]byte, info.Size()), 0); err == nil {
		f.Sync()
	}
}
