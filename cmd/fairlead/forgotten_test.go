package main

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf16"

	"fairlead/dashboards/console/people"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/copies"
	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
)

// What is written of the player who is forgotten; no other text holds any of it.
var secretWords = []string{"Ada Quill", "asksforadrawnote", "whippyfeelwords", "quillsbuildname", "quillsleftoutreason"}

// keepsCopies gives the studio a place for backups.
func (r *rig) keepsCopies() {
	r.t.Helper()
	text, err := os.ReadFile(r.config.File())
	if err == nil {
		err = os.WriteFile(r.config.File(), append(text, "\nbackup: {to: copies, every: 100h, try: 0s}\n"...), 0o644)
	}
	if err == nil {
		r.config, err = studio.Load(r.config.File())
	}
	if err != nil {
		r.t.Fatal(err)
	}
}

// wrote enters free text of a player: a feel, a build's name and a reason; and takes
// a backup with all of it.
func (r *rig) wrote(s *store.Store, player string) {
	t := r.t
	t.Helper()
	var trial, bay, shot string
	if err := s.Conn().QueryRow(t.Context(), "SELECT any(trial), any(bay), lower(replaceAll(toString(any(shot_id)), '-', '')) FROM entries "+
		"FINAL WHERE player = ? AND status = 'counts' AND trial = (SELECT max(trial) FROM entries FINAL WHERE player = ? AND status = 'counts')",
		player, player).Scan(&trial, &bay, &shot); err != nil {
		t.Fatal(err)
	}
	r.said(0, "", "visit", "feel", "--bay", bay, trial, secretWords[2])
	r.said(0, "", "visit", "amend", "--bay", bay, trial, "--name", secretWords[3])
	r.said(0, "", "visit", "exclude", "--bay", bay, shot, "--reason", secretWords[4])
	out, _ := r.said(0, "", "visit", "log", "--bay", bay, "--json")
	if !strings.Contains(out, secretWords[4]) {
		t.Errorf("the console does not say what was written: %.2000s", out)
	}
	var taken copies.Taken
	r.told(&taken, "backup", "--config", r.config.File(), "--json")
	if text, err := os.ReadFile(r.config.PeopleFile()); err != nil || bytes.Contains(text, []byte("Quill")) ||
		!event.HoldsSealed(text) {
		t.Errorf("names stand as %s, %v", text, err)
	}
	// Sealed on its way in already, and no word of it in an export without names.
	r.searched("before the erasure", r.config.DataPath(), true)
	for _, table := range []string{"shots", "trials", "visits", "verdicts"} {
		for _, format := range []string{"csv", "ndjson"} {
			plain, _ := r.said(0, "", "export", table, "--format", format)
			for _, word := range secretWords {
				if strings.Contains(plain, word) || event.HoldsSealed(plain) {
					t.Errorf("export of %s as %s holds %s", table, format, word)
				}
			}
		}
	}
	for _, one := range []struct{ table, format, word string }{{"visits", "csv", secretWords[2]}, {"visits", "ndjson", secretWords[3]},
		{"shots", "csv", secretWords[4]}, {"shots", "ndjson", secretWords[4]}} {
		if named, _ := r.said(0, "", "export", one.table, "--names", "--format", one.format); !strings.Contains(named, one.word) ||
			event.HoldsSealed(named) {
			t.Errorf("export of %s as %s with names does not hold %s", one.table, one.format, one.word)
		}
	}
	r.trailed("visits")
	r.trailed("shots with names")
}

// trailed looks that who took something out of the studio stands in its trail.
func (r *rig) trailed(what string) {
	r.t.Helper()
	files, _ := filepath.Glob(filepath.Join(r.config.GateDir(), "trail", "*.jsonl"))
	for _, f := range files {
		if text, err := os.ReadFile(f); err == nil && strings.Contains(string(text), `"what":"exported","about":"`+what+`"`) {
			return
		}
	}
	r.t.Errorf("the trail does not say that %q was exported", what)
}

// nowhere looks for what was written of a forgotten player: below the data folder,
// in each text of each table, among the backups, in a hub restored from the one that
// was taken before.
func (r *rig) nowhere(s *store.Store, player string) {
	t := r.t
	t.Helper()
	r.searched("the data folder", r.config.DataPath(), true)
	r.searched("the backups", filepath.Join(r.dir, "copies"), false)
	for _, word := range secretWords {
		r.inTables(s, word)
	}
	var all []string
	r.told(&all, "backup", "list", "--config", r.config.File(), "--json")
	text, err := os.ReadFile(r.config.File())
	if err != nil {
		t.Fatal(err)
	}
	back := filepath.Join(t.TempDir(), "studio.yaml")
	if err := os.WriteFile(back, text, 0o644); err != nil {
		t.Fatal(err)
	}
	var restored copies.Restored
	r.told(&restored, "restore", "--no-audit", "--from", filepath.Join(r.dir, "copies"), "--key", r.config.BackupKeyFile(),
		"--copy", all[len(all)-1], "--config", back, "--json")
	r.searched("a hub that was restored", restored.Data, true)
	names, err := people.Open(filepath.Join(restored.Data, "people.json"))
	if err != nil {
		t.Fatal(err)
	}
	if p, ok := names.Get(player); ok {
		t.Errorf("the restored hub knows %+v", p)
	}
}

// searched reads all files below a folder for the words, as they stand, as UTF-16
// and as base64. The folder must hold something, and what stands there sealed where
// it is said so.
func (r *rig) searched(where, dir string, holds bool) {
	t := r.t
	t.Helper()
	var forms [][]byte
	for _, word := range secretWords {
		forms = append(forms, []byte(word), []byte(strings.ToLower(word)))
		var wide []byte
		for _, u := range utf16.Encode([]rune(word)) {
			wide = append(wide, byte(u), byte(u>>8))
		}
		forms = append(forms, wide)
		for shift := range 3 { // base64 of a text differs by where in it the word begins
			code := base64.StdEncoding.EncodeToString(append(make([]byte, shift), word...))
			forms = append(forms, []byte(code[(shift*8+5)/6:len(code)-4]))
		}
	}
	files, sealed := 0, false
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return nil // what goes away meanwhile
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return nil
		}
		files++
		sealed = sealed || event.HoldsSealed(text)
		for _, form := range forms {
			if bytes.Contains(text, form) {
				t.Errorf("%s: %s holds %q", where, path, form)
			}
		}
		return nil
	})
	if err != nil || files == 0 || holds && !sealed {
		t.Errorf("%s: %d files, sealed texts among them: %v, %v", where, files, sealed, err)
	}
}

// inTables asks each text column of each table, for its columns are compressed.
func (r *rig) inTables(s *store.Store, word string) {
	t := r.t
	t.Helper()
	rows, err := s.Conn().Query(t.Context(), "SELECT table, groupArray(name) FROM system.columns WHERE database = currentDatabase() AND "+
		"type IN ('String', 'LowCardinality(String)') AND table IN (SELECT name FROM system.tables WHERE database = currentDatabase() AND "+
		"engine LIKE '%MergeTree') GROUP BY table")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	asked := 0
	for rows.Next() {
		var table string
		var columns []string
		if err := rows.Scan(&table, &columns); err != nil {
			t.Fatal(err)
		}
		var terms []string
		for _, c := range columns {
			terms = append(terms, "position("+c+", {word:String}) > 0")
		}
		quoted, _ := json.Marshal(word)
		var n uint64
		question := strings.ReplaceAll("SELECT count() FROM "+table+" WHERE "+strings.Join(terms, " OR "), "{word:String}",
			"'"+strings.Trim(string(quoted), `"`)+"'")
		if err := s.Conn().QueryRow(t.Context(), question).Scan(&n); err != nil {
			var left uint64
			gone := s.Conn().QueryRow(t.Context(), "SELECT count() FROM system.tables WHERE database = currentDatabase() AND name = ?", table)
			if gone.Scan(&left) == nil && left == 0 && strings.HasPrefix(table, "scratch_") {
				continue // an audit's, which has ended meanwhile
			}
			t.Fatal(err)
		}
		if asked++; n > 0 {
			t.Errorf("%d rows of %s hold %s", n, table, word)
		}
	}
	if asked < 5 {
		t.Errorf("%d tables were asked", asked)
	}
}
