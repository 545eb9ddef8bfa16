package stream

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/nats-io/nkeys"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
)

// A Keyring is a folder of credentials. NAME.seed is secret and goes to the
// machine that uses it; NAME.pub stays with the broker and says what the key
// may do. Removing NAME.pub cuts the key off at once.
type Keyring struct{ Dir string }

// Role is what a credential may do (see accounts.go for what that comes to).
type Role string

const (
	// RoleProcess tags and stores: it reads the log and asks bays to send again.
	RoleProcess Role = "process"
	// RoleConsole writes visit events of one studio and shows its state.
	RoleConsole Role = "console"
	// RoleTools looks: audit, tail, replay, doctor. It writes nothing.
	RoleTools Role = "tools"
	// RoleBay speaks as one bay.
	RoleBay Role = "bay"
	// RoleStudio speaks for a studio that works elsewhere and sends what it stored to
	// this hub: as its bays and its console, and for no other studio.
	RoleStudio Role = "studio"
	// RoleHub is what the hub's processes shared before each had a key of its own.
	// A keyring that still holds one goes on working; no new one is made.
	RoleHub Role = "hub"
)

// Grant is the content of NAME.pub.
type Grant struct {
	Name   string `json:"name"`
	Key    string `json:"key"` // public nkey
	Role   Role   `json:"role"`
	Studio string `json:"studio,omitempty"`
	Bay    string `json:"bay,omitempty"`
	// Until is when the key stops to be taken; nil: never. Rotate sets it.
	Until *time.Time `json:"until,omitempty"`
	// Followed is since when another key is taken in its place.
	Followed *time.Time `json:"followed,omitempty"`
}

// place is whom a grant of one bay or of a console speaks for.
func (g Grant) place() Place {
	if g.Role == RoleStudio {
		return Place{g.Studio, "all bays"}
	}
	return Place{g.Studio, g.Bay}
}

var credentialRule = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// check says what is wrong with a grant. Its names become subjects and a part
// of the broker's configuration: nothing but plain names may pass.
func (g Grant) check() error {
	if !credentialRule.MatchString(g.Name) {
		return fmt.Errorf("name %q: use 1 to 64 of a-z, 0-9 and -", g.Name)
	}
	if !nkeys.IsValidPublicUserKey(g.Key) {
		return fmt.Errorf("key %q is not a public user key", g.Key)
	}
	switch g.Role {
	case RoleProcess, RoleHub:
		return nil
	case RoleConsole, RoleTools, RoleStudio:
		return event.CheckName("studio", g.Studio)
	case RoleBay:
		if g.Bay == ConsoleBay {
			return fmt.Errorf("bay %q: the console's journal goes by this name", g.Bay)
		}
		return errors.Join(event.CheckName("studio", g.Studio), event.CheckName("bay", g.Bay))
	}
	return fmt.Errorf("role %q: use %s, %s, %s, %s or %s", g.Role, RoleProcess, RoleConsole, RoleTools, RoleBay, RoleStudio)
}

// InboxPrefix is the prefix of the reply subjects a bay's connection uses.
func (p Place) InboxPrefix() string { return "_INBOX_" + p.Studio + "_" + p.Bay }

// SeedFile is the path of a credential's secret.
func (k Keyring) SeedFile(name string) string { return filepath.Join(k.Dir, name+".seed") }

// GrantFile is the path of a credential's grant.
func (k Keyring) GrantFile(name string) string { return filepath.Join(k.Dir, name+".pub") }

// Ensure makes the credential if the keyring does not hold it yet.
func (k Keyring) Ensure(g Grant) error {
	_, seedErr := os.Stat(k.SeedFile(g.Name))
	_, pubErr := os.Stat(k.GrantFile(g.Name))
	switch {
	case pubErr == nil:
		// The seed may have moved to the machine that uses it: a new pair would
		// cut that one off.
		return nil
	case seedErr == nil:
		return fmt.Errorf("credential %s was revoked: remove %s to make a new one", g.Name, k.SeedFile(g.Name))
	}
	return k.make(g)
}

// make writes a new pair for a grant.
func (k Keyring) make(g Grant) error {
	if err := os.MkdirAll(k.Dir, 0o700); err != nil {
		return fmt.Errorf("keyring: %w", err)
	}
	pair, err := nkeys.CreateUser()
	if err != nil {
		return fmt.Errorf("make key: %w", err)
	}
	seed, err := pair.Seed()
	if err != nil {
		return fmt.Errorf("make key: %w", err)
	}
	if g.Key, err = pair.PublicKey(); err != nil {
		return fmt.Errorf("make key: %w", err)
	}
	if err := g.check(); err != nil {
		return fmt.Errorf("credential %s: %w", g.Name, err)
	}
	// The grant first: a seed without one is a key that was revoked.
	if err := k.write(g); err != nil {
		return err
	}
	if err := durable.WriteFile(k.SeedFile(g.Name), seed, 0o600); err != nil {
		return fmt.Errorf("keyring: %w", err)
	}
	return nil
}

func (k Keyring) write(g Grant) error {
	pub, err := json.MarshalIndent(g, "", "  ")
	if err != nil {
		return fmt.Errorf("keyring: %w", err)
	}
	if err := durable.WriteFile(k.GrantFile(g.Name), append(pub, '\n'), 0o644); err != nil {
		return fmt.Errorf("keyring: %w", err)
	}
	return nil
}

// Check says what is wrong with a grant.
func (g Grant) Check() error { return g.check() }

// Admit gives a credential to whoever holds the grant's key, which was made
// elsewhere; who held it before is cut off.
func (k Keyring) Admit(g Grant) error {
	if err := g.check(); err != nil {
		return fmt.Errorf("credential %s: %w", g.Name, err)
	}
	if err := os.MkdirAll(k.Dir, 0o700); err != nil {
		return fmt.Errorf("keyring: %w", err)
	}
	if err := k.write(g); err != nil {
		return err
	}
	// A secret of another key under this name opens nothing any more.
	if err := os.Remove(k.SeedFile(g.Name)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("keyring: %w", err)
	}
	return nil
}

// previous is what is added to the name of a key that another one follows.
const previous = "-previous"

// Rotate gives a credential a new pair. The old key is taken until the given
// time under NAME-previous; an older one that still was is cut off.
func (k Keyring) Rotate(name string, until time.Time) error {
	g, err := k.grant(name)
	if errors.As(err, new(*fs.PathError)) {
		return fmt.Errorf("rotate: %w: name a key of the keyring", err)
	}
	if err != nil {
		return fmt.Errorf("rotate %s: %w", name, err)
	}
	if strings.HasSuffix(name, previous) {
		return fmt.Errorf("rotate %s: it was followed by another one already", name)
	}
	old := g
	now := time.Now().Round(time.Second)
	old.Name, old.Until, old.Followed = name+previous, &until, &now
	if err := k.write(old); err != nil {
		return err
	}
	return k.make(Grant{Name: name, Role: g.Role, Studio: g.Studio, Bay: g.Bay})
}

// Grants reads every NAME.pub that is in force at a time. A file that can't be
// read or understood grants nothing, and takes nothing from the others: it is
// in the error, beside the grants.
func (k Keyring) Grants(now time.Time) ([]Grant, error) {
	files, err := filepath.Glob(filepath.Join(k.Dir, "*.pub"))
	if err != nil {
		return nil, fmt.Errorf("keyring: %w", err)
	}
	slices.Sort(files)
	var grants []Grant
	var problems []error
	holder := map[string]string{} // of a key
	for _, file := range files {
		g, err := k.grant(strings.TrimSuffix(filepath.Base(file), ".pub"))
		if errors.Is(err, os.ErrNotExist) {
			continue // revoked between the listing and the reading
		}
		if err == nil && holder[g.Key] != "" {
			err = fmt.Errorf("its key is %s's: a key has one name", holder[g.Key])
		}
		if err != nil {
			problems = append(problems, fmt.Errorf("keyring %s: %w: this key is cut off", file, err))
			continue
		}
		if g.Until != nil && !now.Before(*g.Until) {
			continue
		}
		holder[g.Key] = g.Name
		grants = append(grants, g)
	}
	return grants, errors.Join(problems...)
}

// readGrant reads NAME.pub. A copy under another name grants nothing: to remove
// the file of a key's name has to be enough to cut it off.
func readGrant(name string, data []byte) (g Grant, err error) {
	if err := json.Unmarshal(data, &g); err != nil {
		return g, err
	}
	if g.Name != name {
		return g, fmt.Errorf("it is the grant of %q under another name", g.Name)
	}
	return g, g.check()
}

// grant reads what a key may do.
func (k Keyring) grant(name string) (Grant, error) {
	data, err := os.ReadFile(k.GrantFile(name))
	if err != nil {
		return Grant{}, err
	}
	return readGrant(name, data)
}

// StudioCredential names the key of a studio that sends to this hub from elsewhere.
func StudioCredential(studio string) string { return "studio-" + studio }

// BayCredential names a bay's credential in the keyring.
func BayCredential(bay string) string { return "bay-" + bay }
