package feed

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/proof"
)

func folderOf(t *testing.T, m *Map, dir string) *Folder {
	t.Helper()
	s, err := NewFolder(FolderConfig{
		Map: m, Dir: filepath.Join(dir, "exports"), Pattern: "*.csv", Unfinished: []string{"~*"},
		Stable: 20 * time.Millisecond, Poll: 5 * time.Millisecond, Ledger: filepath.Join(dir, "state", "ledger"),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestFolder(t *testing.T) {
	dir := t.TempDir()
	in := filepath.Join(dir, "exports")
	m := parsed(t, plainMap)
	k := newKeeper()
	stop := running(t, folderOf(t, m, dir), k)
	if err := os.Mkdir(in, 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(in, "~one.csv"), plainHeader+rows(0, 2))
	write(t, filepath.Join(in, "notes.txt"), "not an export")
	rename(t, filepath.Join(in, "~one.csv"), filepath.Join(in, "one.csv"))
	wantRaws(t, k.until(t, 2), rows(0, 2))
	write(t, filepath.Join(in, "two.csv"), plainHeader+rows(2, 3)+"50.005;1") // ends without a line end
	wantRaws(t, k.until(t, 6), rows(0, 5)+"50.005;1")
	stop()

	// A restart reads nothing again; a touched file is known by its content; one
	// that was written anew gives the new lines, and repeats under the old ids.
	later := time.Now().Add(time.Minute)
	if err := os.Chtimes(filepath.Join(in, "one.csv"), later, later); err != nil {
		t.Fatal(err)
	}
	stop = running(t, folderOf(t, m, dir), k)
	write(t, filepath.Join(in, "two.csv"), "00\n"+rows(6, 1))
	got := k.until(t, 11)
	stop()
	wantRaws(t, got, rows(0, 5)+"50.005;1\n"+rows(2, 3)+"50.005;100\n"+rows(6, 1))
	for i := range 3 {
		if got[2+i].ID() != got[6+i].ID() {
			t.Errorf("line %q has two ids", got[2+i].Raw)
		}
	}
}

// TestFolderGoesOnInAFile stops within a file, as a crash would.
func TestFolderGoesOnInAFile(t *testing.T) {
	dir := t.TempDir()
	m := parsed(t, plainMap)
	if err := os.Mkdir(filepath.Join(dir, "exports"), 0o755); err != nil {
		t.Fatal(err)
	}
	n := 3*batchLines + 10
	write(t, filepath.Join(dir, "exports", "big.csv"), plainHeader+rows(0, n))
	k := newKeeper()
	crash := errors.New("crash")
	k.fail = func(batch int) error {
		if batch == 3 {
			return crash
		}
		return nil
	}
	if err := folderOf(t, m, dir).Run(context.Background(), nil, k.emit); !errors.Is(err, crash) {
		t.Fatalf("Run: %v", err)
	}
	stop := running(t, folderOf(t, m, dir), k)
	wantRaws(t, k.until(t, n), rows(0, n))
	stop()
}

// TestFullJournal tries again when there is no room, and gives up on other errors.
func TestFullJournal(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shots.csv")
	m := parsed(t, plainMap)
	write(t, path, plainHeader+rows(0, 2))
	k := newKeeper()
	k.fail = func(batch int) error {
		if batch == 1 {
			return fmt.Errorf("append: %w", ErrFull)
		}
		return nil
	}
	stop := running(t, tailOf(t, m, path), k)
	wantRaws(t, k.until(t, 2), rows(0, 2))
	stop()

	broken := errors.New("broken")
	k = newKeeper()
	k.fail = func(int) error { return broken }
	if err := tailOf(t, m, path).Run(context.Background(), nil, k.emit); !errors.Is(err, broken) {
		t.Fatalf("Run: %v", err)
	}
	if err := tailOf(t, m, path).Run(context.Background(), []byte(`{"v":1,"kind":"folder"}`), k.emit); err == nil || !strings.Contains(err.Error(), "folder") {
		t.Fatalf("a foreign position: %v", err)
	}
}

func TestHTTP(t *testing.T) {
	m, _ := example(t, "brook")
	h, err := NewHTTP(HTTPConfig{Map: m, Token: "sesame", MaxBytes: 4 << 10, MaxLines: 20})
	if err != nil {
		t.Fatal(err)
	}
	feeds := map[string]*HTTP{"brook": h}
	l, err := Listen("127.0.0.1:0", feeds)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() { served <- Serve(ctx, l, feeds) }()
	defer func() {
		cancel()
		if err := <-served; !errors.Is(err, context.Canceled) {
			t.Errorf("Serve: %v", err)
		}
	}()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	ask := func(path, token, body string) (int, Answer, string) {
		t.Helper()
		r, err := http.NewRequest(http.MethodPost, "http://"+l.Addr().String()+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Authorization", "Bearer "+token)
		w, err := client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer w.Body.Close()
		var a struct {
			Answer
			Error string `json:"error"`
		}
		if err := json.NewDecoder(w.Body).Decode(&a); err != nil {
			t.Fatal(err)
		}
		return w.StatusCode, a.Answer, a.Error
	}
	good := `{"at":"2026-05-01T09:10:02Z","shot":{"uuid":"h-1"},"ball":{"speed":52.9}}` + "\n"
	bad := `{"at":"2026-05-01T09:10:02Z","shot":{"uuid":"h-2"},"ball":{"speed":"fast"}}` + "\n"
	if status, _, says := ask("/feeds/brook", "sesame", good); status != http.StatusServiceUnavailable {
		t.Errorf("before Run: %d %s", status, says)
	}
	k := newKeeper()
	stop := running(t, h, k)
	proof.Until(t, "the source listens", func() bool { return h.State().State == StateOK })
	status, a, says := ask("/feeds/brook", "sesame", good+"\n"+bad+good)
	if status != http.StatusMultiStatus || len(a.NoShots) != 1 || a.NoShots[0] != 2 || a.Lines != 3 || a.Shots != 2 || a.Rejected != 1 ||
		a.Skipped != 1 || len(a.Rejects) != 1 || a.Rejects[0].Line != 3 || a.Rejects[0].Column != "ball.speed" {
		t.Errorf("answer %d %+v %s", status, a, says)
	}
	if got := k.until(t, 3); got[0].ID() != got[2].ID() || got[1].Valid() {
		t.Errorf("kept %v", got)
	}
	if status, a, says := ask("/feeds/brook", "sesame", good); status != http.StatusOK || a.Shots != 1 || says != "" {
		t.Errorf("one shot: %d %+v %s", status, a, says)
	}
	for _, c := range []struct {
		path, token, body string
		status            int
	}{
		{"/feeds/brook", "sesame", bad, http.StatusUnprocessableEntity},
		{"/feeds/brook", "sesame", "", http.StatusUnprocessableEntity},
		{"/feeds/brook", "sesame", "\n// nothing\n", http.StatusUnprocessableEntity},
		{"/feeds/brook", "sesame", "hello", http.StatusUnprocessableEntity},
		{"/feeds/brook", "wrong", good, http.StatusUnauthorized},
		{"/feeds/other", "sesame", good, http.StatusNotFound},
		{"/feeds/brook", "sesame", strings.Repeat(good, 100), http.StatusRequestEntityTooLarge},
		{"/feeds/brook", "sesame", strings.Repeat("x\n", 21), http.StatusRequestEntityTooLarge},
	} {
		if status, _, says := ask(c.path, c.token, c.body); status != c.status || says == "" {
			t.Errorf("%s with %s: %d %q, want %d", c.path, c.token, status, says, c.status)
		}
	}
	k.mu.Lock()
	k.fail = func(int) error { return ErrFull }
	k.mu.Unlock()
	if status, _, says := ask("/feeds/brook", "sesame", good); status != http.StatusServiceUnavailable || !strings.Contains(says, "no room") {
		t.Errorf("without room: %d %q", status, says)
	}
	stop()
	if n := len(k.until(t, 6)); n != 6 {
		t.Errorf("%d entries kept, want 6", n)
	}
}

func TestHTTPRefusals(t *testing.T) {
	if _, err := NewHTTP(HTTPConfig{Map: parsed(t, plainMap)}); err == nil || !strings.Contains(err.Error(), "add shot_id or time") {
		t.Errorf("a map without id and time: %v", err)
	}
	m, _ := example(t, "brook")
	h, err := NewHTTP(HTTPConfig{Map: m})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Listen(net.JoinHostPort("0.0.0.0", "0"), map[string]*HTTP{"brook": h}); err == nil ||
		!strings.Contains(err.Error(), "token") {
		t.Errorf("open to all without a token: %v", err)
	}
}

// TestAFolderKnowsWhenFilesCame: of a file that comes with one new line it is
// known when that was written; more lines in one are an export, and what was
// there before a backlog.
func TestAFolderKnowsWhenFilesCame(t *testing.T) {
	dir := t.TempDir()
	in := filepath.Join(dir, "exports")
	if err := os.Mkdir(in, 0o755); err != nil {
		t.Fatal(err)
	}
	batches := make(chan Batch, 10)
	s := folderOf(t, parsed(t, plainMap), dir)
	write(t, filepath.Join(in, "old.csv"), plainHeader+rows(0, 1))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() {
		done <- s.Run(ctx, nil, func(_ context.Context, b Batch) error { batches <- b; return nil })
	}()
	next := func() Batch {
		t.Helper()
		select {
		case b := <-batches:
			return b
		case <-time.After(60 * time.Second):
			t.Fatal("nothing was read")
			return Batch{}
		}
	}
	if b := next(); !b.Backlog || !b.Export || !b.Seen.IsZero() {
		t.Errorf("what was there: %+v", b)
	}
	put := func(name, text string) {
		write(t, filepath.Join(in, "~"+name), text)
		rename(t, filepath.Join(in, "~"+name), filepath.Join(in, name))
	}
	before := s.cfg.Since()
	put("one.csv", plainHeader+rows(1, 1))
	if b := next(); b.Backlog || b.Export || b.Seen.IsZero() || b.After == 0 || b.After > s.cfg.Since() || b.After > before+time.Minute {
		t.Errorf("one shot: %+v", b)
	}
	put("many.csv", plainHeader+rows(2, 3))
	if b := next(); b.Backlog || !b.Export || b.Seen.IsZero() {
		t.Errorf("a session: %+v", b)
	}
	put("many.csv", plainHeader+rows(2, 4))
	if b := next(); !b.Export || len(b.Drafts) != 3 {
		t.Errorf("a session again: %+v", b)
	}
	if b := next(); b.Export || len(b.Drafts) != 1 || b.After == 0 {
		t.Errorf("with a shot more: %+v", b)
	}
	cancel()
	<-done
}
