package fleet

import (
	"encoding/csv"
	"encoding/json"
	"fairlead/deploy/proof"
	"io"
	"log/slog"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"fairlead/dashboards/figure"
	"fairlead/deploy/chromium"
	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(chromium.Wrap(enginetest.Wrap(m))) }

// site serves the pages over a fleet of known effects.
type site struct {
	url     string
	handler *Handler
	store   *store.Store
	engine  int // process id
}

func newSite(t testing.TB, o sim.FleetOptions) *site {
	t.Helper()
	db := enginetest.New(t)
	s := store.New(db.Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	if o.Players > 0 {
		made, err := sim.NewFleet(o)
		if err != nil {
			t.Fatal(err)
		}
		to, err := store.OpenBlocks(db.DSN())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := made.Write(t.Context(), to, nil); err != nil {
			t.Fatal(err)
		}
		to.Close()
	}
	h := New(s, slog.New(slog.NewTextHandler(io.Discard, nil)), Options{Studio: "Harbour Row"})
	server := httptest.NewServer(h)
	done := make(chan struct{})
	go func() {
		defer close(done)
		h.Run(t.Context())
	}()
	t.Cleanup(func() {
		server.Close()
		<-done // the context of a test ends before its cleanups
		http.DefaultClient.CloseIdleConnections()
	})
	return &site{server.URL, h, s, db.Process.Pid()}
}

func (s *site) get(t testing.TB, path string, code int) string {
	t.Helper()
	r, err := http.Get(s.url + path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	if r.StatusCode != code {
		t.Fatalf("%s: status %d, want %d: %.600s", path, r.StatusCode, code, b)
	}
	if code == http.StatusOK && strings.HasPrefix(r.Header.Get("Content-Type"), "text/html") { // else it says what may stand in an address
		proof.PlainWords(t, path, string(b))
	}
	return string(b)
}

// ask posts a question and follows its job to the answer.
func (s *site) ask(t testing.TB, form url.Values) (id string) {
	t.Helper()
	r, err := http.PostForm(s.url+"/fleet/ask", form)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	job := r.Request.URL.Path
	if r.Request.URL.Query().Get("answer") != "" {
		return r.Request.URL.Query().Get("answer")
	}
	events, err := http.Get(s.url + job + "/events")
	if err != nil {
		t.Fatal(err)
	}
	defer events.Body.Close()
	text, err := io.ReadAll(events.Body) // ends with the job
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n\n")
	var last answers.Job
	if err := json.Unmarshal([]byte(strings.TrimPrefix(lines[len(lines)-1], "data: ")), &last); err != nil || last.State != "done" {
		t.Fatalf("%v: %s", err, text)
	}
	return last.Answer
}

func TestPages(t *testing.T) {
	s := newSite(t, sim.FleetOptions{Players: 900, Seed: 4, Left: 0.1, Shots: 10, PerStudio: 300, Lots: 0.4})

	if page := s.get(t, "/fleet/", http.StatusOK); !strings.Contains(page, "This was not asked yet") {
		t.Errorf("before the first question: %.500s", page)
	}
	id := s.ask(t, url.Values{"category": {"driver"}, "outcome": {"direction"}})
	page := s.get(t, "/fleet/", http.StatusOK)
	for _, want := range []string{"<svg", id, "10 g heavier shaft", "How this was answered", "swing weight is left out", "By studio",
		"/fleet/behind?"} {
		if !strings.Contains(page, want) {
			t.Errorf("the effects page lacks %q", want)
		}
	}
	if strings.Contains(page, "NaN") || strings.Contains(page, "Inf") || strings.Contains(page, "ZgotmplZ") {
		t.Error("a number is none, or a template refused a value")
	}

	t.Run("what was found stands first and dependence is not folded away", func(t *testing.T) {
		found, steps, swing := strings.Index(page, "What was found"), strings.Index(page, "One step for the average player"),
			strings.Index(page, "Dependence on the swing")
		if found < 0 || steps < found || swing < steps || !strings.Contains(page, "players tried it") || !strings.Contains(page,
			"margin of 5") {
			t.Errorf("findings at %d, steps at %d, dependence at %d", found, steps, swing)
		}
		if n := strings.Count(page, "it pays "); n < 30 {
			t.Errorf("%d dependences on the page", n)
		}
	})

	t.Run("two profile bands survive the form", func(t *testing.T) {
		v := url.Values{"category": {"driver"}, "outcome": {"direction"}, "band_trait": {"speed_mps", "path_deg", ""},
			"band_low": {"35", "-9", ""}, "band_high": {"52", "", ""}}
		page := s.get(t, "/fleet/?"+v.Encode(), http.StatusOK)
		for _, want := range []string{`value="speed_mps" selected`, `value="path_deg" selected`, `value="35"`, `value="52"`, `value="-9"`,
			`value="speed_mps=35..52"`, `value="path_deg=-9.."`} {
			if !strings.Contains(page, want) {
				t.Errorf("the form lacks %s", want)
			}
		}
	})

	t.Run("under every choice, and apart", func(t *testing.T) {
		page := s.get(t, "/fleet/robustness?answer="+id+"&attribute=shaft_weight", http.StatusOK)
		for _, want := range []string{"without harbour-row-0002", "no curvature", "Apart and pooled", "Who gains, who loses", "<svg"} {
			if !strings.Contains(page, want) {
				t.Errorf("the sheet lacks %q", want)
			}
		}
		s.get(t, "/fleet/methods", http.StatusOK)
	})

	t.Run("downloads say what the page says", func(t *testing.T) {
		var got struct {
			ID      string         `json:"id"`
			Effects []fleet.Effect `json:"effects"`
		}
		if err := json.Unmarshal([]byte(s.get(t, "/fleet/answers/"+id+".json", http.StatusOK)), &got); err != nil || got.ID != id ||
			len(got.Effects) < 40 {
			t.Fatal(err, len(got.Effects))
		}
		rows, err := csv.NewReader(strings.NewReader(s.get(t, "/fleet/answers/"+id+".csv", http.StatusOK))).ReadAll()
		if err != nil || len(rows) != len(got.Effects)+1 {
			t.Fatal(err, len(rows))
		}
		for _, path := range []string{".svg", ".svg?trait=speed_mps", ".svg?map=speed_mps"} {
			if !strings.HasPrefix(s.get(t, "/fleet/answers/"+id+path, http.StatusOK), "<svg") {
				t.Errorf("%s is no picture", path)
			}
		}
	})

	t.Run("what was drawn stands beside what was chosen", func(t *testing.T) {
		var got struct {
			Effects []fleet.Effect `json:"effects"`
		}
		if err := json.Unmarshal([]byte(s.get(t, "/fleet/answers/"+id+".json", http.StatusOK)), &got); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(strings.NewReader(s.get(t, "/fleet/answers/"+id+".csv", http.StatusOK))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		page := s.get(t, "/fleet/?answer="+id, http.StatusOK)
		at, told := slices.Index(rows[0], "lot_less_chosen"), 0
		for i, e := range got.Effects {
			if e.Choice == nil {
				continue
			}
			told++
			if x, err := strconv.ParseFloat(rows[i+1][at], 64); err != nil || x != e.Choice.Difference || e.Choice.Lot.Players < 20 || e.ByLot {
				t.Errorf("%s: %s in CSV, %+v", e.Term, rows[i+1][at], *e.Choice)
			}
		}
		if n := strings.Count(page, "both, which agree"); told < 4 || n != told {
			t.Errorf("%d steps have a lot, the page says so of %d", told, n)
		}
		// Where they differ, the lot has the word: of a copy of the answer in which they do.
		kept, err := s.handler.fleet.Answer(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(kept)
		if err != nil {
			t.Fatal(err)
		}
		var apart answers.Stored
		if err := json.Unmarshal(b, &apart); err != nil {
			t.Fatal(err)
		}
		c := &apart.Answer.Choices[0]
		before, err := TellEffects(kept, "", figure.Units{})
		if err != nil {
			t.Fatal(err)
		}
		c.Differs, c.Lot.Change, c.Shift = true, c.Lot.Change+0.3, c.Shift+0.3
		after, err := TellEffects(&apart, "", figure.Units{})
		if err != nil {
			t.Fatal(err)
		}
		var text strings.Builder
		if err := after.WriteText(&text); err != nil {
			t.Fatal(err)
		}
		if e := after.Effects[0]; !e.ByLot || math.Abs(e.Change-c.Lot.Change) > 1e-9 || e.SE < c.Lot.SE || e.Change == before.Effects[0].Change ||
			!strings.Contains(text.String(), "the lot alone: it was chosen for those whom it suits") ||
			!strings.Contains(text.String(), "This is the lot's word: where somebody chose it") {
			t.Errorf("%+v is not the lot's word: %s", e, text.String())
		}
	})

	t.Run("an answer keeps its data and comes out the same", func(t *testing.T) {
		rows, err := csv.NewReader(strings.NewReader(s.get(t, "/fleet/answers/"+id+".rows.csv", http.StatusOK))).ReadAll()
		if err != nil || len(rows) < 1000 || rows[0][7] != "y" {
			t.Fatal(err, len(rows))
		}
		for path, want := range map[string]string{"/fleet/freeze": "The data of this answer are kept",
			"/fleet/refit": "terms came out the same"} {
			r, err := http.PostForm(s.url+path, url.Values{"answer": {id}})
			if err != nil {
				t.Fatal(err)
			}
			text, _ := io.ReadAll(r.Body)
			r.Body.Close()
			if r.StatusCode != http.StatusOK || !strings.Contains(string(text), want) {
				t.Errorf("%s: %d %.400s", path, r.StatusCode, text)
			}
		}
	})

	t.Run("a script without anything beside Python refits it", func(t *testing.T) {
		python, err := exec.LookPath("python3")
		if err != nil {
			t.Fatalf("python3 is not here: apt-get install python3 (%v)", err)
		}
		folder := t.TempDir()
		out, err := exec.CommandContext(t.Context(), python, "../../deploy/analysts/answer.py", s.url, id, "--out", folder).CombinedOutput()
		if err != nil || strings.Count(string(out), "answered") < 6 {
			t.Fatalf("%v: %s", err, out)
		}
		line := regexp.MustCompile(`shaft_weight +answered ([-+.0-9]+) .* here ([-+.0-9]+) \(se ([.0-9]+)\)`).FindStringSubmatch(string(out))
		if line == nil {
			t.Fatalf("%s", out)
		}
		answered, _ := strconv.ParseFloat(line[1], 64)
		here, _ := strconv.ParseFloat(line[2], 64)
		se, _ := strconv.ParseFloat(line[3], 64)
		if math.Abs(answered-here) > 2*se || se <= 0 {
			t.Errorf("answered %v, refitted %v with a standard error of %v", answered, here, se)
		}
		for _, name := range []string{".json", "-rows.csv", ".svg"} {
			if b, err := os.ReadFile(filepath.Join(folder, id+name)); err != nil || len(b) < 1000 || strings.Contains(string(b), "nan") &&
				name == ".svg" {
				t.Errorf("%s: %d bytes, %v", name, len(b), err)
			}
		}
		if r, err := exec.LookPath("Rscript"); err == nil && proof.Wanted() { // R is no part of what tests need
			if out, err := exec.CommandContext(t.Context(), r, "../../deploy/analysts/answer.R", s.url, id, folder).CombinedOutput(); err != nil ||
				!strings.Contains(string(out), "shaft_weight") {
				t.Errorf("%v: %s", err, out)
			}
		}
	})

	t.Run("from a number to its trials to their shots", func(t *testing.T) {
		page := s.get(t, "/fleet/behind?answer="+id+"&attribute=shaft_weight", http.StatusOK)
		link := regexp.MustCompile(`/fleet/trial\?[^"]*`).FindString(page)
		if !strings.Contains(page, "runs that may be compared") || strings.Count(page, "<circle") < 20 {
			t.Error("the trials behind a number are not drawn")
		}
		if link == "" {
			t.Fatalf("no trial: %.800s", page)
		}
		shots := s.get(t, strings.ReplaceAll(link, "&amp;", "&"), http.StatusOK)
		if n := strings.Count(shots, "counts"); n < 8 {
			t.Errorf("%d shots: %.800s", n, shots)
		}
	})

	t.Run("build against build", func(t *testing.T) {
		var a, b string
		if err := s.store.Conn().QueryRow(t.Context(), `SELECT x.build, y.build FROM trials AS x INNER JOIN trials AS y ON x.session = y.session
			WHERE x.category = 'driver' AND NOT x.gamer AND NOT y.gamer AND x.build < y.build GROUP BY 1, 2 ORDER BY count() DESC, 1, 2 LIMIT 1`).Scan(&a, &b); err != nil {
			t.Fatal(err)
		}
		page := s.get(t, "/fleet/compare?category=driver&a="+url.QueryEscape(a)+"&b="+url.QueryEscape(b), http.StatusOK)
		if !strings.Contains(page, "B less A") || !strings.Contains(page, "carry control") {
			t.Errorf("%.800s", page)
		}
		if page := s.get(t, "/fleet/compare?category=driver&a=nothing&b="+url.QueryEscape(b), http.StatusBadRequest); !strings.Contains(page,
			"nothing") {
			t.Errorf("an unknown build is not named: %.500s", page)
		}
	})

	t.Run("wrong questions are named", func(t *testing.T) {
		for path, want := range map[string]string{
			"/fleet/?category=spoon":                              "spoon",
			"/fleet/?outcome=luck":                                "luck",
			"/fleet/?band=speed":                                  "is no range",
			"/fleet/?from=yesterday":                              "yesterday",
			"/fleet/?studio=harbor-row":                           "use harbour-row",
			"/fleet/?build=nothing":                               "was hit in no trial",
			"/fleet/?band=speed_mps=90..95":                       "no player&#39;s swing lies there",
			"/fleet/?band_trait=speed_mps&band_low=fast":          "is no number",
			"/fleet/behind?answer=" + id + "&attribute=colour":    "colour",
			"/fleet/compare?outcome=window&category=iron&a=1&b=2": "1",
		} {
			if page := s.get(t, path, http.StatusBadRequest); !strings.Contains(page, want) {
				t.Errorf("%s does not say %q: %.600s", path, want, page)
			}
		}
		s.get(t, "/fleet/?answer=none", http.StatusNotFound)
		s.get(t, "/fleet/jobs/none", http.StatusNotFound)
		s.get(t, "/fleet/trial?studio=x&session=y&trial=z", http.StatusNotFound)
	})

	t.Run("promises without checks are not enough to say", func(t *testing.T) {
		if page := s.get(t, "/fleet/promises", http.StatusOK); !strings.Contains(page, "Not enough to say") {
			t.Errorf("%.500s", page)
		}
	})
	s.get(t, "/fleet/kept", http.StatusOK)

	t.Run("in a browser", func(t *testing.T) { lookAt(t, s, id, os.Getenv("FAIRLEAD_SHOTS")) })
}

func TestAnEmptyStore(t *testing.T) {
	s := newSite(t, sim.FleetOptions{})
	s.get(t, "/fleet/", http.StatusOK)
	s.get(t, "/fleet/kept", http.StatusOK)
	s.get(t, "/fleet/promises", http.StatusOK)
	s.get(t, "/fleet/compare", http.StatusNotFound)
	id := s.ask(t, url.Values{})
	if page := s.get(t, "/fleet/?answer="+id, http.StatusOK); !strings.Contains(page, "Not enough to say") {
		t.Errorf("%.500s", page)
	}
}
