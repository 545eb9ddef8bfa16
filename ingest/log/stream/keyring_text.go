package stream

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// WriteText lists the keys in force, and what is not as it should be.
func (k Keyring) WriteText(w io.Writer) error {
	grants, problem := k.Grants(time.Now())
	for _, g := range grants {
		if _, err := fmt.Fprintf(w, "%-24s %-8s %s\n", g.Name, g.Role, k.remarks(g)); err != nil {
			return errors.Join(err, problem)
		}
	}
	return problem
}

// Revoke cuts a key off.
func (k Keyring) Revoke(name string) error {
	if err := os.Remove(k.GrantFile(name)); err != nil {
		return fmt.Errorf("revoke: %w: name a key that `fairlead keys list` shows", err)
	}
	return nil
}

// remarks says of a key whom it speaks for and what someone should know of it.
func (k Keyring) remarks(g Grant) string {
	var out []string
	if g.Studio != "" {
		out = append(out, strings.Trim(g.Studio+"."+g.Bay, "."))
	}
	if g.Until != nil {
		out = append(out, "taken until "+g.Until.Local().Format("2006-01-02 15:04"))
	}
	if g.Role == RoleHub {
		out = append(out, "of before each process had a key of its own: revoke it once nothing uses it")
	}
	if info, err := os.Stat(k.SeedFile(g.Name)); err == nil && openToOthers(info) {
		out = append(out, fmt.Sprintf("its secret can be read by others: chmod 600 %s", k.SeedFile(g.Name)))
	}
	return strings.Join(out, "; ")
}

// openToOthers says whether a file can be read by more than its owner.
func openToOthers(info fs.FileInfo) bool {
	return filepath.Separator == '/' && info.Mode().Perm()&0o077 != 0
}
