package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/deploy/proof"
	"fairlead/processors/ask/erase"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
)

// said runs a command in this process.
func (r *rig) said(code int, stdin string, args ...string) (out, errs string) {
	r.t.Helper()
	var o, e bytes.Buffer
	if got := run(context.Background(), append(args, "--config", r.config.File()), strings.NewReader(stdin), &o, &e); got != code {
		r.t.Fatalf("%v: exit %d, want %d: %s%s", args, got, code, o.String(), e.String())
	}
	return o.String(), e.String()
}

// A whole studio: a player's shots are exported, the player is forgotten by a
// command that is killed half-way and run again, and audit and replay agree.
func TestExportAndEraseInAStudio(t *testing.T) {
	r := newRig(t, "")
	r.keepsCopies()
	r.start()
	ctx, cancel := context.WithTimeout(t.Context(), 8*time.Second)
	defer cancel()
	r.check(r.hit(ctx, sim.Options{Seed: 7, Rate: 6, Quiet: 50 * time.Millisecond})())
	s, err := r.config.OpenStore()
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	one := func(question string, args ...any) (n uint64) {
		t.Helper()
		if err := s.Conn().QueryRow(t.Context(), question, args...).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	var player, visitID, bay string
	if err := s.Conn().QueryRow(t.Context(), "SELECT player, any(visit), any(bay) FROM trials FINAL WHERE n > 0 AND consent GROUP BY player "+
		"ORDER BY sum(n) DESC, player LIMIT 1").Scan(&player, &visitID, &bay); err != nil {
		t.Fatal(err)
	}
	person, _ := json.Marshal(map[string]string{"id": player, "role": "player", "name": "Ada Quill", "note": secretWords[1]})
	answer, err := http.Post("http://"+r.config.Console.Listen+"/api/people", "application/json", bytes.NewReader(person))
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Fatal(answer, err)
	}
	answer.Body.Close()

	// Export.
	file := filepath.Join(t.TempDir(), "shots.csv")
	_, said := r.said(0, "", "export", "shots", "--player", player, "--names", "--out", file)
	rows := readCSV(t, file)
	want := one("SELECT count() FROM shots_all WHERE player = ?", player)
	if uint64(len(rows)-1) != want || want == 0 || !strings.Contains(said, strconv.FormatUint(want, 10)+" rows: counts ") {
		t.Errorf("%d rows, want %d: %s", len(rows)-1, want, said)
	}
	if text := strings.Join(rows[1], ","); !strings.Contains(text, "Ada Quill") {
		t.Errorf("no name in %s", text)
	}
	before, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if _, said = r.said(1, "", "export", "trials", "--out", file); !strings.Contains(said, "--force") {
		t.Errorf("a file that is there: %s", said)
	}
	if now, _ := os.ReadFile(file); !bytes.Equal(now, before) {
		t.Error("the file was written over")
	}
	r.said(0, "", "export", "trials", "--out", file, "--force", "--format", "ndjson")
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(file), ".*")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
	out, _ := r.said(0, "", "export", "shots", "--dictionary")
	// a header, and no names
	if columns, err := csv.NewReader(strings.NewReader(out)).ReadAll(); err != nil || len(columns) != len(rows[0])+1-2 {
		t.Errorf("%d columns described, %d exported, %v", len(columns)-1, len(rows[0]), err)
	}
	if out, _ = r.said(0, "", "export", "--visit", visitID); !strings.Contains(out, player) || !strings.Contains(out, "trial_started") {
		t.Errorf("visit: %.300s", out)
	}
	r.wrote(s, player)
	r.said(1, "", "export", "shots", "--player", "p-nobody")
	r.said(2, "", "export", "cats")
	r.said(2, "", "export")

	// Forget.
	r.said(0, "", "fleet", "effects", "--quiet", "--fresh")
	if one("SELECT count() FROM fleet_trials WHERE player = ?", player) == 0 {
		t.Error("the fleet does not know the player")
	}
	r.said(1, "", "erase", "p-nobody", "--yes")
	r.said(2, "", "erase", "no id", "--yes")
	if out, _ := r.said(0, "", "erase", player, "--dry-run"); !strings.Contains(out, "would be removed") {
		t.Errorf("dry run: %s", out)
	}
	for one("SELECT count() FROM (SELECT session, countIf(kind = 'session_closed') AS closed FROM visit_events FINAL WHERE session IN "+
		"(SELECT session FROM trials WHERE player = ?) GROUP BY session HAVING closed = 0)", player) > 0 {
		if _, said := r.said(1, "", "erase", player, "--yes"); !strings.Contains(said, "close it first") {
			t.Errorf("open: %s", said)
		}
		r.said(0, "", "visit", "close", "--bay", bay)
		proof.Pause(t, time.Second)
	}
	if _, said := r.said(1, "no\n", "erase", player); !strings.Contains(said, "nothing was erased") {
		t.Errorf("not confirmed: %s", said)
	}
	others := func() []uint64 {
		return []uint64{
			one("SELECT sum(cityHash64(toString(tuple(* EXCEPT (version, inserted))))) FROM entries FINAL WHERE status NOT IN ('repeat', "+
				"'superseded') AND session NOT IN (SELECT session FROM visit_events WHERE kind = 'session_erased') AND player != ? AND session NOT "+
				"IN (SELECT session FROM trials WHERE player = ?)", player, player),
			one("SELECT sum(cityHash64(toString(tuple(* EXCEPT (version, inserted))))) FROM trials FINAL WHERE n > 0 AND player != ?", player),
		}
	}
	held := one("SELECT count() FROM entries FINAL WHERE session IN (SELECT session FROM trials WHERE player = ?)", player)
	was := others()
	first := exec.Command(r.program, "erase", player, "--yes", "--config", r.config.File())
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	proof.Pause(t, 300*time.Millisecond) // half-way, or not yet begun, or done: all must end alike
	first.Process.Kill()
	first.Wait()
	out, _ = r.said(0, "", "erase", player, "--yes", "--json")
	var receipt erase.Receipt
	if err := json.Unmarshal([]byte(out), &receipt); err != nil || !receipt.Done || receipt.Left != (store.Held{}) ||
		len(receipt.Sessions) == 0 || len(receipt.Remains) < 4 {
		t.Errorf("%v: %s", err, out)
	}
	if n := one("SELECT count() FROM entries FINAL WHERE erased"); n != held {
		t.Errorf("%d rows keep their place, %d were held", n, held)
	}
	if now := others(); now[0] != was[0] || now[1] != was[1] {
		t.Errorf("rows of others: %v, were %v", now, was)
	}
	text, err := os.ReadFile(r.config.PeopleFile())
	if err != nil || bytes.Contains(text, []byte("Quill")) {
		t.Errorf("the name stands in %s, %v", text, err)
	}
	r.said(0, "", "audit")
	r.replayed()
	r.said(0, "", "fleet", "effects", "--quiet", "--fresh")
	if n := one("SELECT (SELECT count() FROM fleet_trials WHERE player = {p:String}) + (SELECT count() FROM profiles WHERE player = "+
		"{p:String}) + (SELECT count() FROM trials WHERE player = {p:String}) + (SELECT count() FROM entries WHERE player = {p:String})",
		clickhouse.Named("p", player)); n != 0 {
		t.Errorf("%d rows name the player", n)
	}
	r.nowhere(s, player)
	r.said(1, "", "export", "shots", "--player", player)
	r.said(0, "", "erase", player, "--yes") // there is nothing left to do
}

func readCSV(t *testing.T, file string) [][]string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}
