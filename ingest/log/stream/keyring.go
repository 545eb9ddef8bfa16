package stream

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nkeys"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
)

// A Keyring is a folder of credentials. NAME.seed is secret and goes to the
// machine that uses it; NAME.pub stays with the broker and says what the key
// may do. Removing NAME.pub cuts the key off at once.
type Keyring struct{ Dir string }

// Role is what a credential may do.
type Role string

// The hub may do everything; a bay may only speak as itself.
const (
	RoleHub Role = "hub"
	RoleBay Role = "bay"
)

// Grant is the content of NAME.pub.
type Grant struct {
	Name   string `json:"name"`
	Key    string `json:"key"` // public nkey
	Role   Role   `json:"role"`
	Studio string `json:"studio,omitempty"`
	Bay    string `json:"bay,omitempty"`
}

// InboxPrefix is the prefix of the reply subjects a bay's connection uses.
func (p Place) InboxPrefix() string { return "_INBOX_" + p.Studio + "_" + p.Bay }

// SeedFile is the path of a credential's secret.
func (k Keyring) SeedFile(name string) string { return filepath.Join(k.Dir, name+".seed") }

// Ensure makes the credential if the keyring does not hold it yet.
func (k Keyring) Ensure(g Grant) error {
	if err := event.CheckName("credential", g.Name); err != nil {
		return err
	}
	_, seedErr := os.Stat(k.SeedFile(g.Name))
	_, pubErr := os.Stat(filepath.Join(k.Dir, g.Name+".pub"))
	switch {
	case pubErr == nil:
		// The seed may have moved to the machine that uses it: a new pair would
		// cut that one off.
		return nil
	case seedErr == nil:
		return fmt.Errorf("credential %s was revoked: remove %s to make a new one", g.Name, k.SeedFile(g.Name))
	}
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
	pub, err := json.MarshalIndent(g, "", "  ")
	if err != nil {
		return fmt.Errorf("make key: %w", err)
	}
	// The grant first: a seed without one is a key that was revoked.
	if err := durable.WriteFile(filepath.Join(k.Dir, g.Name+".pub"), append(pub, '\n'), 0o644); err != nil {
		return fmt.Errorf("keyring: %w", err)
	}
	if err := durable.WriteFile(k.SeedFile(g.Name), seed, 0o600); err != nil {
		return fmt.Errorf("keyring: %w", err)
	}
	return nil
}

// Grants reads every NAME.pub.
func (k Keyring) Grants() ([]Grant, error) {
	files, err := filepath.Glob(filepath.Join(k.Dir, "*.pub"))
	if err != nil {
		return nil, fmt.Errorf("keyring: %w", err)
	}
	slices.Sort(files)
	var grants []Grant
	for _, file := range files {
		data, err := os.ReadFile(file)
		if errors.Is(err, os.ErrNotExist) {
			continue // revoked between the listing and the reading
		}
		if err != nil {
			return nil, fmt.Errorf("keyring: %w", err)
		}
		var g Grant
		if err := json.Unmarshal(data, &g); err != nil {
			return nil, fmt.Errorf("keyring %s: %w", file, err)
		}
		if !nkeys.IsValidPublicUserKey(g.Key) {
			return nil, fmt.Errorf("keyring %s: key %q is not a public user key", file, g.Key)
		}
		if g.Role != RoleHub && g.Role != RoleBay {
			return nil, fmt.Errorf("keyring %s: role %q: use %s or %s", file, g.Role, RoleHub, RoleBay)
		}
		grants = append(grants, g)
	}
	return grants, nil
}

// user turns a grant into what the broker enforces.
func (g Grant) user() *server.NkeyUser {
	u := &server.NkeyUser{Nkey: g.Key}
	if g.Role == RoleHub {
		return u
	}
	place := Place{g.Studio, g.Bay}
	u.Permissions = &server.Permissions{
		Publish: &server.SubjectPermission{Allow: []string{
			place.ShotsSubject(), place.HealthSubject(), place.MarksSubject(), ClockSubject,
		}},
		Subscribe: &server.SubjectPermission{Allow: []string{place.RepairSubject(), place.AskSubject(), place.InboxPrefix() + ".>"}},
		// Replies to repair requests.
		Response: &server.ResponsePermission{MaxMsgs: 1, Expires: 0},
	}
	return u
}

// BayCredential names a bay's credential in the keyring.
func BayCredential(bay string) string { return "bay-" + bay }
