package export

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
	"fairlead/processors/visit/trial"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

var place = stream.Place{Studio: "harbour-row", Bay: "north"}

// world is a store with two players, of whom the second did not consent.
type world struct {
	*Exporter
	dsn string
}

const words1 = "heavy, \"but\"\nquiet; ürg"

func newWorld(t *testing.T) world {
	t.Helper()
	dsn := enginetest.New(t).DSN()
	s, err := store.Open(dsn)
	check(t, err)
	t.Cleanup(func() { s.Close() })
	check(t, s.Migrate(t.Context()))
	d, err := store.OpenDownloads(dsn)
	check(t, err)
	t.Cleanup(d.Close)
	var rows []store.EntryRow
	statuses := []tag.Status{tag.Counts, tag.Counts, tag.Excluded, tag.Counts, tag.Repeat, tag.Nobody, tag.Rejected}
	begin := time.Date(2026, 5, 4, 9, 0, 0, 123456789, time.UTC)
	for i := range 70 {
		id := event.ShotIDFor("alder", fmt.Sprint(i))
		at := begin.Add(time.Duration(i) * time.Hour).UnixNano()
		e := &event.Entry{Contract: 1, Studio: place.Studio, Bay: place.Bay, Journal: "00000000000000aa", Seq: uint64(i + 1), ShotId: id[:],
			Device: "alder", ReceivedUnixNs: at, EffectiveUnixNs: at,
			Measures: []*event.Measure{{Field: event.Field_FIELD_CARRY, Value: 150 + float64(i)/7,
				Provenance: event.Provenance_PROVENANCE_MEASURED},
				{Field: event.Field_FIELD_OFFLINE, Value: -3.25}}}
		v := shot.Of(e, shot.Frame{})
		tg := &tag.Tag{Situation: &tag.Situation{Category: "iron", Session: "s1", Visit: "v1", Trial: "t1", Part: 1, Player: "p-ada",
			Fitter: "f-bo", Consent: true},
			Version: 1, Status: statuses[i%7], At: at, Reason: words1}
		if i >= 35 {
			tg.Session, tg.Visit, tg.Player, tg.Consent = "s2", "v2", "p-cy", false
		}
		rows = append(rows, store.EntryRow{Entry: e, Tag: tg, Values: &v})
	}
	check(t, s.InsertEntries(t.Context(), rows))
	for i := range rows { // a later version counts
		again := *rows[i].Tag
		again.Version = 2
		rows[i].Tag = &again
	}
	check(t, s.InsertEntries(t.Context(), rows[:10]))
	var trials []store.TrialRow
	for i, session := range []string{"s1", "s2"} {
		trials = append(trials, store.TrialRow{Studio: place.Studio, Bay: place.Bay, Session: session, Visit: "v" + session[1:],
			Trial: "t" + session[1:], Part: 1, Version: 1, Category: "iron",
			Player: []string{"p-ada", "p-cy"}[i], Consent: i == 0,
			Build: &event.Build{Name: "Skerry", Specs: []*event.Spec{{Field: event.BuildField_BUILD_LENGTH, Number: 0.95}}},
			Row:   trial.Row{N: 15, First: begin.UnixNano(), Last: begin.UnixNano()}})
	}
	trials = append(trials, trials[0]) // one that lost its shots
	trials[2].Trial, trials[2].Row.N, trials[2].Row.Excluded = "t3", 0, 4
	check(t, s.InsertTrials(t.Context(), trials))
	ev := func(id, session string, body func(e *event.VisitEvent)) *event.VisitEvent {
		e := &event.VisitEvent{Contract: 1, Id: id, Studio: place.Studio, Bay: place.Bay, Visit: "v" + session[1:], Session: session,
			Journal: "c", Seq: 1, Who: "f-bo", EffectiveUnixNs: begin.UnixNano(), RecordedUnixNs: begin.UnixNano()}
		body(e)
		return e
	}
	given := &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t1", Words: words1,
		Promises: []*event.Promise{{Outcome: "carry", Change: 4.5}}}
	check(t, s.InsertEvents(t.Context(), []*event.VisitEvent{
		ev("e1", "s1", func(e *event.VisitEvent) {
			e.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-ada", Category: "iron", Aim: "softer",
				Fitter: "f-bo"}}
		}),
		ev("e2", "s1", func(e *event.VisitEvent) {
			e.Body = &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Trial: "t1", Words: words1, Liking: 2}}
		}),
		ev("e3", "s1", func(e *event.VisitEvent) { e.Body = &event.VisitEvent_VerdictGiven{VerdictGiven: given} }),
		ev("e4", "s2", func(e *event.VisitEvent) {
			e.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-cy", Category: "iron"}}
		}),
	}))
	check(t, s.InsertVerdicts(t.Context(), []store.VerdictRow{{Place: place, ID: "e3", Version: 1, Visit: "v1", Session: "s1",
		Player:   "p-ada",
		Category: "iron", At: begin.UnixNano(), Given: given, Live: true},
		{Place: place, ID: "e0", Version: 1, Visit: "v1", Session: "s1", At: begin.UnixNano(), Given: given}}))
	return world{&Exporter{s, d}, dsn}
}

func check(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// One world for all: making the schema takes longer than what is asked of it.
func TestExport(t *testing.T) {
	x := newWorld(t)
	for name, test := range map[string]func(*testing.T, world){
		"dictionary": testTheDictionaryCoversEveryColumn, "rows": testRowsAreReadBackAsTheyAreStored, "filters": testFilters,
		"visit": testAVisitIsHandedOverWhole, "refusals": testWhatCantBeAsked,
	} {
		t.Run(name, func(t *testing.T) { test(t, x) })
	}
	// The last: they add rows.
	t.Run("followed", func(t *testing.T) { testVerdictsSayWhatCameOfThem(t, x) })
	t.Run("kinds", func(t *testing.T) { testEveryKindIsKeptLikeAShot(t, x) })
}

// Every column that an export can have is described, in the unit that its name
// carries; a direction says its sign.
func testTheDictionaryCoversEveryColumn(t *testing.T, x world) {
	suffix := map[string]string{"m": "m", "mps": "m/s", "deg": "deg", "rpm": "rpm", "s": "s", "kg": "kg", "kgm": "kgm", "cpm": "cpm",
		"pa": "Pa", "degc": "degC", "m2": "m²", "deg2": "deg²", "percent": "% of carry"}
	for _, table := range Tables() {
		columns, err := x.Dictionary(t.Context(), table, true)
		check(t, err)
		if len(columns) < 10 {
			t.Errorf("%s: %d columns", table, len(columns))
		}
		for _, c := range columns {
			if c.Meaning == "" || c.Origin == "" {
				t.Errorf("%s.%s: %+v", table, c.Name, c)
			}
			i := strings.LastIndexByte(c.Name, '_')
			if want, carries := suffix[c.Name[i+1:]]; i > 0 && carries && c.Unit != want {
				t.Errorf("%s.%s is in %q, its name says %s", table, c.Name, c.Unit, want)
			}
		}
	}
	for _, f := range event.Fields() {
		c, ok := describe("shots", f.Column)
		if !ok || f.Min < 0 && c.Sign == "" && f.Field != event.Field_FIELD_AIR_TEMPERATURE {
			t.Errorf("%s: %+v", f.Column, c)
		}
	}
	for _, b := range event.BuildFields() {
		if c, ok := describe("trials", "build_"+b.Column); !ok || b.Min < 0 && c.Sign == "" {
			t.Errorf("%s: %+v", b.Column, c)
		}
	}
	if c, ok := describe("shots", "bogus_m"); ok {
		t.Errorf("a column that is nobody's is described: %+v", c)
	}
}

// readsOwn lets the tools read what the export wrote: they judge the shots that
// count, or say that none does, and stumble over no column.
func readsOwn(t *testing.T, text string) {
	t.Helper()
	counting := strings.Count(text, ",counts,") > 0
	_, bag := club.ReadBag(strings.NewReader(text), "shots.csv")
	_, spread := dispersion.ReadShots(strings.NewReader(text), "shots.csv", "carry", "offline")
	for tool, err := range map[string]error{"gapping": bag, "dispersion": spread} {
		if counting && err != nil || !counting && (err == nil || !strings.Contains(err.Error(), "none of its")) {
			t.Errorf("%s: shots count: %v; %v", tool, counting, err)
		}
	}
}

func testRowsAreReadBackAsTheyAreStored(t *testing.T, x world) {
	ctx := t.Context()
	names := &Names{By: map[string]string{"p-ada": "Ada Quill, \"A\"", "f-bo": "Bo"}}
	for _, table := range Tables() {
		r := Request{Table: table, Studio: "harbour-row"}
		wanted, left, err := x.Count(ctx, r)
		check(t, err)
		n := Total(wanted)
		if n == 0 || Total(left) != map[string]uint64{"trials": 1, "verdicts": 1}[table] {
			t.Fatalf("%s: %v, %v", table, wanted, left)
		}
		columns, err := x.Dictionary(ctx, table, true)
		check(t, err)

		var text bytes.Buffer
		written, err := x.Write(ctx, &text, r, CSV, names)
		check(t, err)
		if table == "shots" {
			readsOwn(t, text.String())
		}
		records, err := csv.NewReader(&text).ReadAll()
		check(t, err)
		if uint64(written) != n || uint64(len(records)-1) != n || len(records[0]) != len(columns) {
			t.Errorf("%s: %d rows written, %d read, %d counted; %d columns of %d", table, written, len(records)-1, n, len(records[0]),
				len(columns))
		}
		for i, c := range columns {
			if records[0][i] != c.Name {
				t.Errorf("%s: column %d is %s, the dictionary says %s", table, i, records[0][i], c.Name)
			}
		}
		at := map[string]int{}
		for i, name := range records[0] {
			at[name] = i
		}
		if i, ok := at["player_name"]; ok && records[1][i] != names.By[records[1][at["player"]]] {
			t.Errorf("%s: %q", table, records[1])
		}

		text.Reset()
		written, err = x.Write(ctx, &text, r, NDJSON, names)
		check(t, err)
		k := uint64(0)
		for d := json.NewDecoder(&text); ; k++ {
			var row map[string]any
			if err := d.Decode(&row); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			if table != "shots" {
				continue
			}
			csvCarry, _ := strconv.ParseFloat(records[k+1][at["carry_m"]], 64)
			if row["carry_m"] != csvCarry || row["status"] != records[k+1][at["status"]] || row["reason"] != records[k+1][at["reason"]] ||
				row["reason"] != words1 {
				t.Fatalf("row %d: %v, %v", k, row, records[k+1])
			}
			if stamp, _ := row["at"].(string); stamp != records[k+1][at["at"]] ||
				!regexp.MustCompile(`^2026-05-0\dT\d\d:00:00\.123456789Z$`).MatchString(stamp) {
				t.Fatalf("time %q, %q", stamp, records[k+1][at["at"]])
			}
		}
		if k != n || uint64(written) != n {
			t.Errorf("%s: %d lines, %d said, %d counted", table, k, written, n)
		}
		for _, f := range []Format{Native, Parquet} {
			text.Reset()
			if written, err = x.Write(ctx, &text, r, f, nil); err != nil || written != -1 {
				t.Fatalf("%s as %s: %d, %v", table, f, written, err)
			}
			if got := x.readBack(t, table, f, text.Bytes()); got != n {
				t.Errorf("%s as %s: %d rows read back, %d counted", table, f, got, n)
			}
		}
	}
	x.inParts(t)
}

// inParts exports a table a day and studio at a time, breaks nothing that is there, and
// adds up.
func (x world) inParts(t *testing.T) {
	t.Helper()
	folder := t.TempDir()
	var said bytes.Buffer
	j := &Job{Request: Request{Table: "shots"}, Format: "ndjson", Said: &said}
	check(t, x.WriteParts(t.Context(), j, folder, false))
	files, err := filepath.Glob(filepath.Join(folder, "shots", "day=*", "studio=*", "rows.ndjson"))
	if err != nil || len(files) < 2 {
		t.Fatalf("%v, %v", files, err)
	}
	lines := 0
	for _, name := range files {
		text, err := os.ReadFile(name)
		check(t, err)
		lines += bytes.Count(text, []byte("\n"))
	}
	wanted, _, err := x.Count(t.Context(), j.Request)
	if check(t, err); uint64(lines) != Total(wanted) {
		t.Errorf("%d rows in %d files, %d counted", lines, len(files), Total(wanted))
	}
	check(t, os.Remove(files[0]))
	said.Reset()
	check(t, x.WriteParts(t.Context(), j, folder, false))
	if !strings.Contains(said.String(), "shots: 1 files") {
		t.Errorf("went on with %s", said.String())
	}
	j.Format = "parquet"
	check(t, x.WriteParts(t.Context(), j, folder, false))
	for _, name := range files {
		data, err := os.ReadFile(strings.TrimSuffix(name, "ndjson") + "parquet")
		if check(t, err); !bytes.HasPrefix(data, []byte("PAR1")) || !bytes.HasSuffix(data, []byte("PAR1")) {
			t.Errorf("%s is no Parquet", name)
		}
	}
}

// readBack lets the engine read a file and counts its rows.
func (x world) readBack(t *testing.T, table string, f Format, data []byte) (n uint64) {
	t.Helper()
	ctx := t.Context()
	view := map[string]string{"shots": "shots_all", "trials": "trial_rows", "visits": "visit_events", "verdicts": "verdicts_followed"}[table]
	except := ""
	if table == "visits" {
		except = " EXCEPT event"
	}
	name := "back_" + table + string(f)
	check(t, x.Store.Conn().Exec(ctx, "CREATE TABLE "+name+" ENGINE = Memory AS SELECT *"+except+" FROM "+view+" LIMIT 0"))
	u, err := url.Parse(x.dsn)
	check(t, err)
	key, _ := u.User.Password()
	q := url.Values{"database": {strings.TrimPrefix(u.Path, "/")}, "query": {"INSERT INTO " + name + " FORMAT " + serverFormats[f]}}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+u.Host+"/?"+q.Encode(), bytes.NewReader(data))
	check(t, err)
	request.Header.Set("X-ClickHouse-User", u.User.Username())
	request.Header.Set("X-ClickHouse-Key", key)
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	answer, err := client.Do(request)
	check(t, err)
	defer answer.Body.Close()
	if text, _ := io.ReadAll(answer.Body); answer.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", f, text)
	}
	check(t, x.Store.Conn().QueryRow(ctx, "SELECT count() FROM "+name).Scan(&n))
	return n
}

func testFilters(t *testing.T, x world) {
	for _, c := range []struct {
		r          Request
		rows, left uint64
	}{
		{Request{Table: "shots"}, 70, 0},
		{Request{Table: "shots", Player: "p-ada"}, 35, 0},
		{Request{Table: "shots", Session: "s2", Bays: []string{"north", "south"}}, 35, 0},
		{Request{Table: "shots", Bays: []string{"south"}}, 0, 0},
		{Request{Table: "shots", Statuses: []string{"counts", "excluded"}}, 40, 30},
		{Request{Table: "shots", Consented: true}, 35, 35},
		{Request{Table: "shots", Category: "driver"}, 0, 0},
		{Request{Table: "shots", From: "2026-05-04", To: "2026-05-04"}, 15, 0},
		{Request{Table: "shots", From: "2026-05-05"}, 55, 0},
		{Request{Table: "trials", Consented: true}, 1, 2},
		{Request{Table: "trials", Player: "p-cy"}, 1, 0},
		{Request{Table: "visits", Player: "p-ada"}, 3, 0},
		{Request{Table: "visits", Consented: true}, 3, 1},
		{Request{Table: "visits", Category: "iron"}, 4, 0},
		{Request{Table: "verdicts", Player: "p-ada", From: "2026-05-04", To: "2026-05-04"}, 1, 0},
		{Request{Table: "verdicts", Consented: true}, 1, 1},
	} {
		wanted, left, err := x.Count(t.Context(), c.r)
		check(t, err)
		n, err := x.Write(t.Context(), io.Discard, c.r, NDJSON, nil)
		check(t, err)
		if Total(wanted) != c.rows || Total(left) != c.left || uint64(n) != c.rows {
			t.Errorf("%+v: %d rows, %d left out, %d written; want %d, %d", c.r, Total(wanted), Total(left), n, c.rows, c.left)
		}
	}
}

func testAVisitIsHandedOverWhole(t *testing.T, x world) {
	v, err := x.Visit(t.Context(), "harbour-row", "v1", &Names{By: map[string]string{"p-ada": "Ada Quill", "p-cy": "Cy"}}, time.Now())
	check(t, err)
	if len(v.Shots) != 35 || len(v.Trials) != 1 || len(v.Events) != 3 || len(v.Verdicts) != 1 || len(v.Names) != 1 {
		t.Errorf("%d shots, %d trials, %d events, %d verdicts, %v", len(v.Shots), len(v.Trials), len(v.Events), len(v.Verdicts), v.Names)
	}
	var text bytes.Buffer
	check(t, v.WriteJSON(&text))
	for _, want := range []string{`"build_length_m": 0.95`, `heavy, `, `softer`, `Ada Quill`, `positive right of target`,
		`"promised_change": [`} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("lacks %s", want)
		}
	}
	if v, err = x.Visit(t.Context(), "harbour-row", "v1", nil, time.Now()); err != nil {
		t.Fatal(err)
	}
	text.Reset()
	check(t, v.WriteJSON(&text))
	for _, word := range []string{`softer`, `Ada Quill`} {
		if strings.Contains(text.String(), word) {
			t.Errorf("without names it holds %s", word)
		}
	}
	var again Visit
	check(t, json.Unmarshal(text.Bytes(), &again))
}

func testWhatCantBeAsked(t *testing.T, x world) {
	for _, r := range []Request{{Table: "cats"}, {Table: "shots", From: "yesterday"}, {Table: "shots", From: "2026-05-02", To: "2026-05-01"},
		{Table: "shots", Category: "spoon"}, {Table: "shots", Statuses: []string{"'; DROP"}}, {Table: "trials", Statuses: []string{"counts"}}} {
		var wrong *RequestError
		if _, err := x.Write(t.Context(), io.Discard, r, CSV, nil); !errors.As(err, &wrong) || wrong.Try == "" {
			t.Errorf("%+v: %v", r, err)
		}
	}
	for _, r := range []Request{{Player: "p-nobody"}, {Session: "s9"}, {Visit: "v9"}, {Studio: "elsewhere"}} {
		var unknown *UnknownError
		if err := x.Known(t.Context(), r); !errors.As(err, &unknown) {
			t.Errorf("%+v: %v", r, err)
		}
	}
	check(t, x.Known(t.Context(), Request{Studio: "harbour-row", Player: "p-ada", Session: "s1", Visit: "v1"}))
	// Formats that are passed on piece by piece know no largest size.
	for _, f := range []Format{CSV, NDJSON, Native} {
		check(t, x.Downloads.Ask(t.Context(), io.Discard, "SELECT repeat('x', 1000) AS c FROM numbers(300000)", serverFormats[f], nil, nil))
	}
	// A store that fails on its way is not taken for the end of the rows.
	err := x.Downloads.Ask(t.Context(), io.Discard, "SELECT throwIf(number = 3000000) FROM numbers(5000000)", "CSV", nil,
		map[string]string{"max_block_size": "10000"})
	if err == nil || !strings.Contains(err.Error(), "Exception") {
		t.Errorf("an answer that broke off: %v", err)
	}
	if _, err := store.OpenDownloads("clickhouse://u:secret@h:9000/d"); err == nil || !errors.Is(err, store.ErrNotHTTP) ||
		strings.Contains(err.Error(), "secret") {
		t.Errorf("own protocol: %v", err)
	}
}
