package backup

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"math/rand/v2"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"
)

// targets are a folder and a bucket of an S3 store.
func targets(t *testing.T) map[string]Target {
	store := s3mem.New()
	if err := store.CreateBucket("copies"); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(gofakes3.New(store, gofakes3.WithAutoBucket(false)).Server())
	t.Cleanup(server.Close)
	credentials := filepath.Join(t.TempDir(), "s3")
	if err := os.WriteFile(credentials, []byte("key\nsecret\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	bucket, err := OpenTarget("s3+http://"+strings.TrimPrefix(server.URL, "http://")+"/copies/hub?region=eu", credentials)
	if err != nil {
		t.Fatal(err)
	}
	return map[string]Target{"folder": Folder(filepath.Join(t.TempDir(), "copies")), "bucket": bucket}
}

// tree writes files below a folder.
func tree(t *testing.T, dir string, files map[string][]byte) {
	t.Helper()
	for name, data := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o640); err != nil {
			t.Fatal(err)
		}
	}
}

// take makes a copy of a folder.
func take(t *testing.T, r *Repository, dir string, now time.Time) *Manifest {
	t.Helper()
	taking, err := r.Take(t.Context(), now, map[string]string{"studio": "harbour-row"}, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	err = filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if name, _ := filepath.Rel(dir, path); err == nil && name != "." {
			return taking.Add(t.Context(), filepath.ToSlash(name), path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	m, err := taking.Finish(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// same compares what a copy gives with files.
func same(t *testing.T, r *Repository, name string, files map[string][]byte) {
	t.Helper()
	m, err := r.Manifest(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "restored")
	if err := r.Restore(t.Context(), m, Below("", to)); err != nil {
		t.Fatal(err)
	}
	found := 0
	err = filepath.WalkDir(to, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		found++
		name, _ := filepath.Rel(to, path)
		if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, files[name]) {
			t.Errorf("%s: %d bytes instead of %d: %v", name, len(got), len(files[name]), err)
		}
		return nil
	})
	if err != nil || found != len(files) {
		t.Errorf("%d files instead of %d: %v", found, len(files), err)
	}
	if err := r.Restore(t.Context(), m, Below("", to)); !errors.Is(err, fs.ErrExist) {
		t.Errorf("written over: %v", err)
	}
}

func noise(n int) []byte {
	b := make([]byte, n)
	src := rand.NewChaCha8([32]byte{1})
	src.Read(b)
	return b
}

func TestCopies(t *testing.T) {
	begun := time.Date(2026, 3, 1, 3, 30, 0, 0, time.UTC)
	for kind, target := range targets(t) {
		t.Run(kind, func(t *testing.T) {
			key, err := MakeKey()
			if err != nil {
				t.Fatal(err)
			}
			r, err := Open(t.Context(), target, key)
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			first := map[string][]byte{"people.json": []byte(`{"a":"Adalbert Undine"}`), "empty": {}, "journals/north/1": noise(9 << 20),
				"twice/a": noise(1000), "twice/b": noise(1000)}
			tree(t, dir, first)
			if err := os.Symlink("people.json", filepath.Join(dir, "link")); err != nil {
				t.Fatal(err)
			}
			one := take(t, r, dir, begun)
			if one.New < 9<<20 || one.New > 10<<20 {
				t.Errorf("the first copy sent %d bytes", one.New)
			}
			// What is appended costs its last chunk, what stays costs nothing.
			second := map[string][]byte{}
			for k, v := range first {
				second[k] = v
			}
			second["journals/north/1"] = append(bytes.Clone(first["journals/north/1"]), "more"...)
			tree(t, dir, map[string][]byte{"journals/north/1": second["journals/north/1"]})
			two := take(t, r, dir, begun.Add(time.Hour))
			if two.New > 2<<20 {
				t.Errorf("the second copy sent %d bytes", two.New)
			}
			same(t, r, one.Name, first)
			same(t, r, "", second)

			if gone, err := r.Prune(t.Context(), begun.Add(30*time.Minute)); err != nil || gone != 1 {
				t.Errorf("%d copies went: %v", gone, err)
			}
			same(t, r, two.Name, second)
			if gone, err := r.Prune(t.Context(), begun.Add(24*time.Hour)); err != nil || gone != 0 {
				t.Errorf("the newest copy went: %d, %v", gone, err)
			}
			refusals(t, r, target, begun)
		})
	}
}

// refusals tries what must not work, and damages the copies in the end.
func refusals(t *testing.T, r *Repository, target Target, begun time.Time) {
	other, err := MakeKey()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), target, other); err == nil || !strings.Contains(err.Error(), "another key") {
		t.Errorf("another key: %v", err)
	}
	if _, err := r.Take(t.Context(), begun, nil, t.TempDir()); err == nil {
		t.Error("a copy before the newest one was begun")
	}
	if _, err := r.Manifest(t.Context(), "20200101T000000Z"); err == nil || !strings.Contains(err.Error(), "there are") {
		t.Errorf("a copy that is not there: %v", err)
	}
	packs, err := target.List(t.Context(), "packs/")
	if err != nil || len(packs) == 0 {
		t.Fatalf("%v: %v", packs, err)
	}
	for _, o := range packs { // one flipped bit in each
		in, err := target.Get(t.Context(), o.Name)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		b.ReadFrom(in)
		in.Close()
		if bytes.Contains(b.Bytes(), []byte("Adalbert Undine")) {
			t.Error("a name stands in the clear")
		}
		b.Bytes()[b.Len()/2] ^= 4
		if err := target.Put(context.Background(), o.Name, &b, int64(b.Len())); err != nil {
			t.Fatal(err)
		}
	}
	m, err := r.Manifest(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Restore(t.Context(), m, Below("", t.TempDir()+"/x")); err == nil {
		t.Error("a damaged pack was restored")
	}
}

func TestKeyStaysTheSame(t *testing.T) {
	file := filepath.Join(t.TempDir(), "keys", "backup.key")
	one, fresh, err := EnsureKey(file)
	if err != nil || !fresh {
		t.Fatal(fresh, err)
	}
	two, fresh, err := EnsureKey(file)
	if err != nil || fresh || one.Public() != two.Public() {
		t.Error(fresh, err)
	}
	if err := os.WriteFile(file, []byte("nonsense"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := EnsureKey(file); err == nil {
		t.Error("nonsense was taken for a key, or written over")
	}
}
