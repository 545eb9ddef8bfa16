package copies

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"fairlead/deploy/backup"
	"fairlead/processors/ask/audit"
)

// Tried is what a try of a copy found.
type Tried struct {
	Copy  string       `json:"copy"`
	Bytes int64        `json:"bytes"`
	Files int          `json:"files"`
	Audit audit.Report `json:"audit"`
	// Skipped says why nothing was audited: parts of the studio are not in the copy.
	Skipped string `json:"skipped,omitempty"`
}

// Try restores a copy ("" is the newest) into a scratch folder, runs the hub on
// it and audits it. The error says what is wrong with the copy.
func (k Keeper) Try(ctx context.Context, name string) (found Tried, err error) {
	unlock, err := k.lock(ctx)
	if err != nil {
		return found, err
	}
	defer unlock()
	defer func() { k.note(err, func(s *backup.State) { s.Tried = k.Now().UTC() }) }()
	r, err := k.Repository(ctx)
	if err != nil {
		return found, err
	}
	m, err := r.Manifest(ctx, name)
	if err != nil {
		return found, err
	}
	found = Tried{Copy: m.Name, Bytes: m.Bytes, Files: len(m.Files)}
	base := k.Config.DataPath(work)
	if err := os.MkdirAll(base, 0o700); err != nil {
		return found, err
	}
	dir, err := os.MkdirTemp(base, "try-*")
	if err != nil {
		return found, err
	}
	defer os.RemoveAll(dir)
	if err := r.Restore(ctx, m, backup.Below(inData, dir)); err != nil {
		return found, err
	}
	if found.Skipped = elsewhere(m); found.Skipped != "" {
		return found, nil
	}
	// Devices that were added from the console are not to be read a second time.
	if err := os.RemoveAll(filepath.Join(dir, "devices")); err != nil {
		return found, err
	}
	if found.Audit, err = prove(ctx, k.Config, k.Program, dir, k.Log); err != nil {
		return found, err
	}
	return found, wrong(found.Audit)
}

// elsewhere says what of the studio a copy lacks.
func elsewhere(m *backup.Manifest) string {
	for _, part := range []string{"store", "log"} {
		if why := m.About[part]; why != "" {
			return fmt.Sprintf("the %s is %s: the copy was read back whole, and no hub was run on it", part, why)
		}
	}
	return ""
}

// wrong is an error for an audit that found something.
func wrong(r audit.Report) error {
	if !r.Wrong() {
		return nil
	}
	var all []error
	for _, b := range r.Bays {
		if b.Wrong() > 0 {
			all = append(all, fmt.Errorf("bay %s: %d missing, %d twice, %d lost, %d untagged, %d mistagged, %d rows wrong",
				b.Bay, b.Missing, b.Duplicate, b.Lost, b.Untagged, b.Mistagged, b.Rows-b.Mended))
		}
	}
	return fmt.Errorf("the audit of the restored hub: %w", errors.Join(all...))
}
