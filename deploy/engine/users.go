package engine

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/log/durable"
)

// Purpose says what a user of the engine may do.
type Purpose string

const (
	// Pipeline is the hub's process and the tools of its machine: everything.
	Pipeline Purpose = "pipeline"
	// Pages is the console: it reads, and writes what the fleet answered.
	Pages Purpose = "pages"
	// Analyst is a person who asks: reading, with bounds on time, memory and how many at once.
	Analyst Purpose = "analyst"
)

// User is one who may ask the engine. The token itself is not kept, only what it hashes to: it has 192 random
// bits, so a plain hash tells nothing.
type User struct {
	Name    string    `json:"name"`
	Purpose Purpose   `json:"purpose"`
	SHA256  string    `json:"sha256"`
	Made    time.Time `json:"made"`
}

var userName = regexp.MustCompile(`^[a-z0-9][a-z0-9_-]{0,39}$`)

// ErrNoUser says that a user is not there.
var ErrNoUser = errors.New("no such user")

// Hash is what a token is known by.
func Hash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// AddUser makes a user in the folder and returns the token, which is told this once.
func AddUser(dir, name string, purpose Purpose, now time.Time) (string, error) {
	if !userName.MatchString(name) {
		return "", fmt.Errorf("user %q: a name has small letters, digits, - and _, at most 40: write it as jo-reader", name)
	}
	if purpose != Pages && purpose != Analyst {
		return "", fmt.Errorf("user %s: purpose %q is neither %s nor %s", name, purpose, Pages, Analyst)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", fmt.Errorf("users of the engine: %w", err)
	}
	path := filepath.Join(dir, name+".json")
	if _, err := os.Stat(path); err == nil {
		return "", fmt.Errorf("user %s is there already: revoke it first, and its old token ends", name)
	}
	var secret [24]byte
	_, _ = rand.Read(secret[:])
	token := hex.EncodeToString(secret[:])
	text, err := json.Marshal(User{Name: name, Purpose: purpose, SHA256: Hash(token), Made: now.UTC().Truncate(time.Second)})
	if err != nil {
		return "", err
	}
	if err := durable.WriteFile(path, append(text, '\n'), 0o600); err != nil {
		return "", fmt.Errorf("user %s: %w", name, err)
	}
	return token, nil
}

// RevokeUser ends a user's token.
func RevokeUser(dir, name string) error {
	if !userName.MatchString(name) {
		return fmt.Errorf("user %q: %w", name, ErrNoUser)
	}
	err := os.Remove(filepath.Join(dir, name+".json"))
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("user %s: %w", name, ErrNoUser)
	}
	return err
}

// ListUsers reads the folder. A file that is damaged, or that others may write or read, lets nobody in; the
// error names it, and the other users are given all the same.
func ListUsers(dir string) ([]User, error) {
	files, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("users of the engine: %w", err)
	}
	var users []User
	var problems []error
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".json") {
			continue
		}
		u, err := readUser(filepath.Join(dir, f.Name()))
		if errors.Is(err, os.ErrNotExist) {
			continue // revoked in this moment
		}
		if err != nil {
			problems = append(problems, err)
			continue
		}
		users = append(users, u)
	}
	slices.SortFunc(users, func(a, b User) int { return strings.Compare(a.Name, b.Name) })
	return users, errors.Join(problems...)
}

func readUser(path string) (User, error) {
	if err := closedToOthers(path); err != nil {
		return User{}, err
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return User{}, err
	}
	var u User
	bad := func(why string) (User, error) {
		return User{}, fmt.Errorf("user file %s lets nobody in: %s; remove it and add the user again", path, why)
	}
	if err := json.Unmarshal(text, &u); err != nil {
		return bad(err.Error())
	}
	sum, err := hex.DecodeString(u.SHA256)
	switch {
	case err != nil || len(sum) != sha256.Size:
		return bad("sha256 is no hash")
	case u.Name+".json" != filepath.Base(path) || !userName.MatchString(u.Name):
		return bad("its name is not the file's")
	case u.Purpose != Pages && u.Purpose != Analyst:
		return bad(fmt.Sprintf("purpose %q is not known", u.Purpose))
	}
	return u, nil
}

// closedToOthers refuses a secret that other users of the machine can read or replace.
func closedToOthers(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return fmt.Errorf("%s can be read or written by others (mode %03o), so it is not taken: chmod 600 %s, and think of "+
			"it as known to them", path, info.Mode().Perm(), path)
	}
	return nil
}

// EnsurePages gives the token of the console's user, whom it makes if he is not there.
func EnsurePages(dir string, now time.Time) (string, error) {
	const name = "pages"
	path := filepath.Join(dir, name+".token")
	token, err := EnsureToken(path)
	if err != nil {
		return "", err
	}
	if u, err := readUser(filepath.Join(dir, name+".json")); err == nil && u.SHA256 == Hash(token) {
		return token, nil
	}
	text, err := json.Marshal(User{Name: name, Purpose: Pages, SHA256: Hash(token), Made: now.UTC().Truncate(time.Second)})
	if err != nil {
		return "", err
	}
	if err := durable.WriteFile(filepath.Join(dir, name+".json"), append(text, '\n'), 0o600); err != nil {
		return "", fmt.Errorf("user %s: %w", name, err)
	}
	return token, nil
}
