package copies

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	"fairlead/deploy/backup"
	"fairlead/deploy/studio"
	"fairlead/processors/ask/audit"
)

// Restoring says where a hub is restored from, and to.
type Restoring struct {
	From, Credentials string // place of the copies, and the file with its credentials
	Key               string // file that opens them
	Copy              string // which one; "": the newest
	To                string // where the configuration goes; it says where the data go
	Program           string // the fairlead that proves it
	NoProof           bool   // leave out the run and audit
	Log               *slog.Logger
}

// Restored is what a restoring did.
type Restored struct {
	Copy   string       `json:"copy"`
	Config string       `json:"config"`
	Data   string       `json:"data"`
	Bytes  int64        `json:"bytes"`
	Notes  []string     `json:"notes,omitempty"` // what was left as it stood
	Audit  audit.Report `json:"audit"`
	Proof  string       `json:"proof"` // in words, what the audit says
}

// Run restores a hub: configuration, names, keys, visits, journals, log and
// store. Nothing that is there is written over, and data come into their places
// only when all of them are there. Then the hub is run by itself and audited.
func (o Restoring) Run(ctx context.Context) (out Restored, err error) {
	target, err := backup.OpenTarget(o.From, o.Credentials)
	if err != nil {
		return out, err
	}
	if err := backup.Exists(ctx, target); err != nil {
		return out, err
	}
	key, err := backup.ReadKey(o.Key)
	if err != nil {
		return out, err
	}
	r, err := backup.Open(ctx, target, key)
	if err != nil {
		return out, err
	}
	m, err := r.Manifest(ctx, o.Copy)
	if err != nil {
		return out, err
	}
	out.Copy, out.Bytes = m.Name, m.Bytes
	if out.Notes, err = o.configuration(ctx, r, m); err != nil {
		return out, err
	}
	c, err := studio.Load(o.To)
	if err != nil {
		return out, err
	}
	out.Config, out.Data = c.File(), c.DataPath()
	if err := o.data(ctx, r, m, c.DataPath()); err != nil {
		return out, err
	}
	if out.Proof = elsewhere(m); out.Proof != "" {
		return out, nil
	}
	if o.NoProof {
		out.Proof = "not audited: `fairlead audit` does so once it runs"
		return out, nil
	}
	if out.Audit, err = prove(ctx, c, o.Program, c.DataPath(), o.Log); err != nil {
		return out, err
	}
	out.Proof = "the audit found nothing wrong"
	return out, wrong(out.Audit)
}

// configuration writes the configuration and the files it names, but for those
// that are there already.
func (o Restoring) configuration(ctx context.Context, r *backup.Repository, m *backup.Manifest) (notes []string, err error) {
	scratch, err := os.MkdirTemp("", "fairlead-restore-*")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(scratch)
	places := map[string]string{} // scratch to place
	err = r.Restore(ctx, m, func(name string) string {
		to := ""
		if rest, ok := strings.CutPrefix(name, inConfig); ok {
			to = filepath.Join(filepath.Dir(o.To), filepath.FromSlash(rest))
			if rest == m.About["config"] {
				to = o.To
			}
		} else if rest, ok := strings.CutPrefix(name, inOutside); ok {
			to = string(filepath.Separator) + filepath.FromSlash(rest)
		}
		if to == "" {
			return ""
		}
		from := filepath.Join(scratch, filepath.FromSlash(name))
		places[from] = to
		return from
	})
	if err != nil {
		return nil, err
	}
	for from, to := range places {
		there, err := os.ReadFile(to)
		text, problem := os.ReadFile(from)
		switch {
		case problem != nil:
			return notes, problem
		case err == nil && !bytes.Equal(there, text):
			notes = append(notes, to+" stands there already and is otherwise than in the copy: it was left as it is")
			continue
		case err == nil:
			continue
		case !errors.Is(err, fs.ErrNotExist):
			return notes, err
		}
		info, err := os.Stat(from)
		if err != nil {
			return notes, err
		}
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return notes, err
		}
		if err := os.WriteFile(to, text, info.Mode().Perm()); err != nil {
			return notes, err
		}
	}
	return notes, nil
}

// data restores the data folder, beside its place first.
func (o Restoring) data(ctx context.Context, r *backup.Repository, m *backup.Manifest, data string) error {
	there, err := os.ReadDir(data)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range there {
		if e.Name() != restoring && e.Name() != "lost+found" {
			return fmt.Errorf("the data folder %s is not empty (%s): a hub is restored into an empty one; move it away, or name another by data: "+
				"in %s", data, e.Name(), o.To)
		}
	}
	beside := filepath.Join(data, restoring)
	if err := os.RemoveAll(beside); err != nil {
		return err
	}
	if err := os.MkdirAll(beside, 0o700); err != nil {
		return err
	}
	if err := r.Restore(ctx, m, backup.Below(inData, beside)); err != nil {
		return err
	}
	if err := restoreKeys(ctx, r, beside, o.Log); err != nil {
		return err
	}
	if err := own(data, beside); err != nil {
		return err
	}
	entries, err := os.ReadDir(beside)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := os.Rename(filepath.Join(beside, e.Name()), filepath.Join(data, e.Name())); err != nil {
			return err
		}
	}
	return os.Remove(beside)
}
