package group

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
)

// Pseudonyms gives the persons of a studio the ids by which a head office knows
// them. They follow from the studio's own ids and a secret that stays with it, so
// that two studios' ids never meet, and who reads the head office's store can't
// say whom a build sheet of the studio is about.
type Pseudonyms struct{ secret []byte }

// secretBytes is the length of the secret.
const secretBytes = 32

// OpenPseudonyms reads a studio's secret, and makes it where there is none. Another
// secret would make strangers of everybody, so it goes with the backups.
func OpenPseudonyms(file string) (*Pseudonyms, error) {
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		secret := make([]byte, secretBytes)
		rand.Read(secret)
		if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
			return nil, fmt.Errorf("secret of the pseudonyms: %w", err)
		}
		if err := durable.WriteFile(file, []byte(hex.EncodeToString(secret)+"\n"), 0o600); err != nil {
			return nil, fmt.Errorf("secret of the pseudonyms: %w", err)
		}
		return &Pseudonyms{secret}, nil
	}
	if err != nil {
		return nil, fmt.Errorf("secret of the pseudonyms: %w", err)
	}
	secret, err := hex.DecodeString(strings.TrimSpace(string(text)))
	if err != nil || len(secret) != secretBytes {
		return nil, fmt.Errorf("secret of the pseudonyms %s: it is damaged: take it from a backup; a new one would make strangers of "+
			"all players at the head office", file)
	}
	return &Pseudonyms{secret}, nil
}

var letters = base32.NewEncoding("abcdefghijkmnpqrstuvwxyz23456789").WithPadding(base32.NoPadding)

// Of is the id at the head office of an id of the studio's; empty stays empty.
func (p *Pseudonyms) Of(id string) string {
	if id == "" {
		return ""
	}
	h := hmac.New(sha256.New, p.secret)
	h.Write([]byte(id))
	return "h-" + letters.EncodeToString(h.Sum(nil)[:10])
}

// persons are the fields of events that hold a person's id, by their names.
var persons = map[protoreflect.Name]bool{"player": true, "fitter": true, "hitter": true, "holder": true}

// Event is what leaves the studio of a visit event: with other ids of persons,
// without account and tablet, with no word that is not sealed. It is another
// message; the one given is not changed.
func (p *Pseudonyms) Event(ev *event.VisitEvent) *event.VisitEvent {
	out := proto.CloneOf(ev)
	out.Who, out.Person, out.Device = p.Of(ev.Who), "", ""
	p.rename(out.ProtoReflect())
	event.Texts(out, func(text string) string {
		if text == "" || event.IsSealed(text) {
			return text
		}
		return event.Unreadable
	})
	return out
}

func (p *Pseudonyms) rename(m protoreflect.Message) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.IsMap():
		case f.Kind() == protoreflect.MessageKind && f.IsList():
			for i := range v.List().Len() {
				p.rename(v.List().Get(i).Message())
			}
		case f.Kind() == protoreflect.MessageKind:
			p.rename(v.Message())
		case f.Kind() == protoreflect.StringKind && !f.IsList() && persons[f.Name()]:
			m.Set(f, protoreflect.ValueOfString(p.Of(v.String())))
		}
		return true
	})
}

// Entry is what leaves the studio of an entry: what was measured and when, and
// what tells shots apart. Not the line, the device's own number and word for the
// club, settings, the names of files and what faults quote: people write names
// into those.
func Entry(e *event.Entry) *event.Entry {
	if e.ErasedContent != nil && len(e.Raw) == 0 && len(e.Measures) == 0 {
		return e // erased, or through here already
	}
	out := event.EraseEntry(e)
	out.Line, out.MapVersion, out.DeviceUnixNs = e.Line, e.MapVersion, e.DeviceUnixNs
	out.Measures = e.Measures
	out.Faults = nil
	for _, f := range e.Faults {
		out.Faults = append(out.Faults, &event.Fault{Field: f.Field, Reason: "refused in the studio, where its line is kept"})
	}
	return out
}
