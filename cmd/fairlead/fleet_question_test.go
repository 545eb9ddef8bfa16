package main

import (
	"encoding/json"
	"io"
	"log/slog"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	pages "fairlead/dashboards/fleet"
	"fairlead/deploy/engine"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/enquiry"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
)

// trade is a group of two studios whose every answer is known, with the ways to ask.
type trade struct {
	asker
	made *sim.Fleet
	page http.Handler
}

var traded = sim.FleetOptions{Players: 480, Seed: 12, PerStudio: 240, Shots: 10, Trade: sim.TradeOptions{Years: 2, Stock: 112,
	Balls:    true,
	Verdicts: true, Checks: 0.9, Strikes: true, Pairs: true, Putters: 0.6}}

func newTrade(t *testing.T) *trade {
	t.Helper()
	p, err := engine.Start(t.Context(), engine.Options{Binary: filepath.Join(filepath.Dir(program(t)), "fairlead-engine"),
		DataDir: t.TempDir(), Stderr: os.Stderr})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.Stop(); err != nil {
			t.Error(err)
		}
	})
	made, err := sim.NewFleet(traded)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := made.Fill(t.Context(), p.DSN(), true, nil); err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(p.DSN())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return &trade{asker{t, p.DSN()}, made, pages.New(s, slog.New(slog.NewTextHandler(io.Discard, nil)), pages.Options{})}
}

// ask asks by command and by page, and holds the two against each other.
func (a *trade) ask(kind string, args ...string) *enquiry.Table {
	a.t.Helper()
	out, _ := a.run(0, append([]string{"fleet", "question", kind, "--json"}, args...)...)
	byCommand, byPage := &enquiry.Table{}, &enquiry.Table{}
	if err := json.Unmarshal([]byte(out), byCommand); err != nil {
		a.t.Fatal(kind, err)
	}
	address := "/fleet/questions/" + kind
	for i := 0; i+1 < len(args); i += 2 {
		address += map[bool]string{true: "?", false: "&"}[i == 0] + strings.TrimPrefix(args[i], "--") + "=" + args[i+1]
	}
	page := a.get(address)
	if err := json.Unmarshal([]byte(a.get("/fleet/questions/"+kind+"?answer="+byCommand.ID+"&format=json")), byPage); err != nil {
		a.t.Fatal(kind, err)
	}
	one, _ := json.Marshal(byCommand)
	two, _ := json.Marshal(byPage)
	if string(one) != string(two) || byCommand.ID == "" || len(byCommand.Rows) == 0 || len(byCommand.Said) == 0 {
		a.t.Errorf("%s: command and page differ, or say nothing: %.300s %.300s", kind, one, two)
	}
	if !strings.Contains(page, byCommand.ID) || strings.Contains(page, "NaN") || strings.Contains(page, "ZgotmplZ") {
		a.t.Errorf("%s: the page does not show the answer", kind)
	}
	if csv := a.get("/fleet/questions/" + kind + "?answer=" + byCommand.ID + "&format=csv"); strings.Count(csv,
		byCommand.ID) != len(byCommand.Rows) {
		a.t.Errorf("%s: %d rows of CSV", kind, strings.Count(csv, byCommand.ID))
	}
	if byCommand.Plot != nil {
		if svg := a.get("/fleet/questions/" + kind + "?answer=" + byCommand.ID + "&format=svg"); !strings.HasPrefix(svg, "<svg") {
			a.t.Errorf("%s: no picture", kind)
		}
	}
	return byCommand
}

func (a *trade) get(path string) string {
	a.t.Helper()
	w := httptest.NewRecorder()
	a.page.ServeHTTP(w, httptest.NewRequestWithContext(a.t.Context(), http.MethodGet, path, nil))
	if w.Code != http.StatusOK {
		a.t.Fatalf("%s: %d %.400s", path, w.Code, w.Body)
	}
	if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
		proof.PlainWords(a.t, path, w.Body.String())
	}
	return w.Body.String()
}

// covers counts the rows whose intervals hold what was planted, in percent.
func covers(t *testing.T, got *enquiry.Table, column string, planted map[string]float64, within float64) {
	t.Helper()
	in := 0
	for i := range got.Rows {
		name := got.Rows[i][got.Place(column)].Text
		want, ok := planted[name]
		if !ok {
			continue
		}
		low, high, value := got.Value(i, "ci_low"), got.Value(i, "ci_high"), got.Value(i, "change")
		if low <= want && want <= high {
			in++
		} else if math.Abs(value-want) > within*(high-low)/2 {
			t.Errorf("%s: %s is %.1f (%.1f to %.1f), planted %.1f", got.Enquiry.Kind, name, value, low, high, want)
		}
	}
	if 4*in < 3*len(planted) {
		t.Errorf("%s: %d of %d intervals hold what was planted", got.Enquiry.Kind, in, len(planted))
	}
}

// planted are the changes of parts against their mean, in percent.
func planted(parts []sim.Part) map[string]float64 {
	mean, out := 0.0, map[string]float64{}
	for _, p := range parts {
		mean += p.Direction / float64(len(parts))
	}
	for _, p := range parts {
		out[p.Model] = 100 * math.Expm1(p.Direction-mean)
	}
	return out
}

// The questions of dashboards/fleet/QUESTIONS.md, each asked by command and by page of a
// group whose answers are known.
func TestQuestionsOfATradeAreAnswered(t *testing.T) {
	if !proof.Wanted() {
		t.Skip("a campaign: make prove runs it (FAIRLEAD_PROVE=1)")
	}
	a := newTrade(t)
	a.run(0, "fleet", "effects", "--quiet") // makes the snapshot
	truth := a.made.Planted.Trade
	each := func(name string, do func(t *testing.T)) {
		t.Run(name, func(t *testing.T) {
			in := a.t
			a.t = t
			defer func() { a.t = in }()
			do(t)
		})
	}

	each("heads", func(t *testing.T) { covers(t, a.ask("heads"), "model", planted(truth.Heads), 1.5) })
	each("shafts", func(t *testing.T) { covers(t, a.ask("shafts"), "model", planted(truth.Shafts), 1.5) })
	each("grips", func(t *testing.T) { covers(t, a.ask("grips"), "model", planted(truth.Grips), 1.5) })
	each("balls", func(t *testing.T) {
		got := a.ask("balls")
		covers(t, got, "model", planted(truth.Balls), 1.5)
		if got.Rows[0][0].Text != "Fender" || !(got.Value(0, "q") < 0.1) {
			t.Errorf("the best ball is %v", got.Rows[0])
		}
	})
	each("putters", func(t *testing.T) {
		got := a.ask("putters")
		lines := *got
		lines.Rows = got.Rows[:len(truth.Putters)]
		covers(t, &lines, "model", planted(truth.Putters), 1.5)
		if got.Rows[0][1].Text != "Causeway" {
			t.Errorf("the best putter is %v", got.Rows[0])
		}
	})
	each("builds", func(t *testing.T) {
		got := a.ask("builds")
		if got.Value(0, "exact") < 5 || got.Value(0, "near") < got.Value(0, "exact") || got.Value(0, "change") > -10 {
			t.Errorf("the best build: %v", got.Rows[0])
		}
	})
	each("pairs", func(t *testing.T) {
		got := a.ask("pairs")
		want := 100 * math.Expm1(truth.Pair)
		i := got.Find("pair", "½ in longer and 10 g heavier shaft")
		if i < 0 || got.Value(i, "ci_low") > want || got.Value(i, "ci_high") < want {
			t.Errorf("the planted pair, %.1f %%: %v", want, got.Rows[max(i, 0)])
		}
		false := 0
		for n := range got.Rows {
			if n != i && got.Value(n, "q") <= 0.05 {
				false++
			}
		}
		if false > 2 {
			t.Errorf("%d pairs were found that nobody planted", false)
		}
	})
	each("strike", func(t *testing.T) {
		got := a.ask("strike")
		said := strings.Join(got.Said, " ")
		if !strings.Contains(said, "That 1° more loft depends") || !strings.Contains(said, "That 5 g heavier head depends") ||
			!strings.Contains(said, "Struck high on the toe, 1° more loft") && !strings.Contains(said,
				"Struck high on the heel, 5 g heavier head") {
			t.Errorf("%s", said)
		}
	})
	each("whom", func(t *testing.T) {
		got := a.ask("whom", "--attribute", "shaft_weight")
		top, all := 0.0, 0.0
		for i := range 25 {
			p := a.player(got.Rows[i][0].Text)
			top += p.Direction[sim.ShaftWeight] + p.Scores[0]*a.made.Planted.Direction.Moderated[sim.ShaftWeight][0]
		}
		for n := range traded.Players {
			p := a.made.Player(n)
			all += p.Direction[sim.ShaftWeight] + p.Scores[0]*a.made.Planted.Direction.Moderated[sim.ShaftWeight][0]
		}
		if top/25 > all/float64(traded.Players)-0.03 {
			t.Errorf("those named gain %.3f more than the average, %.3f", top/25, all/float64(traded.Players))
		}
	})
	each("learn", func(t *testing.T) {
		got := a.ask("learn")
		for i := range got.Rows {
			if got.Value(i, "then") >= got.Value(i, "se") || i > 0 && got.Value(i, "worth") > got.Value(i-1, "worth") {
				t.Fatalf("row %d: %v", i, got.Rows[i])
			}
		}
	})
	each("places", func(t *testing.T) {
		got := a.ask("places")
		want := 100 * math.Expm1(a.made.Planted.Direction.Main[sim.ShaftWeight])
		in, all := 0, 0
		for i := range got.Rows {
			if all++; got.Value(i, "pooled_low") <= want && want <= got.Value(i, "pooled_high") {
				in++
			}
		}
		if all < 30 || 10*in < 8*all {
			t.Errorf("%d of %d places hold the planted %.1f %%", in, all, want)
		}
	})
	each("calibration", func(t *testing.T) { a.promises(a.ask("calibration"), truth) })
	each("months", func(t *testing.T) {
		got := a.ask("months")
		verdicts, taken := 0.0, 0.0
		for i := range got.Rows {
			verdicts, taken = verdicts+got.Value(i, "decided"), taken+got.Value(i, "new")
		}
		chosen := len(a.chosen())
		if int(verdicts) != traded.Players || int(taken) != chosen || len(got.Rows) < 24 || !strings.Contains(strings.Join(got.Said, " "),
			"points a month") {
			t.Errorf("%v verdicts, %v new clubs of %d, %d months: %v", verdicts, taken, chosen, len(got.Rows), got.Said)
		}
	})
	each("stock", func(t *testing.T) {
		got := a.ask("stock")
		by := map[string]float64{}
		for _, b := range a.chosen() {
			by[b]++
		}
		for _, p := range truth.Heads {
			i := got.Find("model", p.Model)
			if want := by[p.Model]; i < 0 && want > 0 || i >= 0 && (got.Value(i, "chosen") != want || got.Value(i, "stock") < got.Value(i,
				"expected")) {
				t.Errorf("%s was chosen %v times: row %d", p.Model, want, i)
			}
		}
	})
	each("never", func(t *testing.T) {
		if got := a.ask("never"); got.Rows[0][1].Text != "Turnstone" || got.Value(0, "chosen") != 0 || !strings.Contains(got.Said[0],
			"Turnstone") {
			t.Errorf("%v %v", got.Rows[0], got.Said)
		}
	})
	each("through", func(t *testing.T) {
		// No step of the simulated fleet moves the strike or the delivery.
		got := a.ask("through")
		for i := range got.Rows {
			if share := got.Value(i, "share"); got.Rows[i][1].Text == "strike" && math.Abs(share) > 0.3 {
				t.Errorf("%v of %s goes through the strike", share, got.Rows[i][0].Text)
			}
		}
	})
	each("of steps, swings, builds and players", func(t *testing.T) { a.steps() })
	each("the list names each", func(t *testing.T) {
		text, err := os.ReadFile(filepath.Join("..", "..", "dashboards", "fleet", "QUESTIONS.md"))
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range enquiry.Kinds() {
			if !strings.Contains(string(text), "`fleet question "+k.Name) || !strings.Contains(string(text), "/fleet/questions/"+k.Name) {
				t.Errorf("the list lacks %s, its command or its page", k.Name)
			}
		}
		if n := strings.Count(string(text), "\n| "); n < 22 {
			t.Errorf("%d lines in the list", n)
		}
	})
	each("a question that there is none of", func(t *testing.T) {
		if _, errs := a.run(2, "fleet", "question", "wheels"); !strings.Contains(errs, "use places, whom") {
			t.Error(errs)
		}
		if list := a.get("/fleet/questions"); strings.Count(list, `href="/fleet/questions/`) != len(enquiry.Names()) {
			t.Errorf("the page lists %d questions", strings.Count(list, `href="/fleet/questions/`))
		}
	})
}

// steps asks what stands on pages of its own: what a step does, for which swings, build
// against build, promises, advice, and how many players a question needs.
func (a *trade) steps() {
	a.t.Helper()
	var got struct {
		ID      string `json:"id"`
		Effects []struct {
			Term string  `json:"term"`
			Low  float64 `json:"ci_low"`
			High float64 `json:"ci_high"`
			SE   float64 `json:"se"`
		} `json:"effects"`
	}
	out, _ := a.run(0, "fleet", "effects", "--json")
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		a.t.Fatal(err)
	}
	page := a.get("/fleet/?category=driver&outcome=direction")
	if !strings.Contains(page, got.ID) {
		a.t.Error("the page shows another answer than the command")
	}
	truth := map[string]float64{"shaft_weight:speed_mps": a.made.Planted.Direction.Moderated[sim.ShaftWeight][0],
		"flex:speed_mps": a.made.Planted.Direction.Moderated[sim.Flex][0]}
	for _, e := range got.Effects {
		if want, ok := truth[e.Term]; ok && (want < e.Low-e.SE || want > e.High+e.SE) {
			a.t.Errorf("%s lies in %.3f to %.3f, planted %.3f", e.Term, e.Low, e.High, want)
		}
	}
	if promises := a.get("/fleet/promises?category=driver"); !strings.Contains(promises, "checks") {
		a.t.Error("the page of promises has none")
	}
	if out, _ := a.run(0, "fleet", "advise", "--player", "p00000007", "--quiet"); !strings.Contains(out, "p00000007") {
		a.t.Errorf("no advice: %.400s", out)
	}
}

func (a *trade) player(id string) sim.FleetPlayer {
	for n := range traded.Players {
		if p := a.made.Player(n); p.ID == id {
			return p
		}
	}
	a.t.Fatalf("there is no player %s", id)
	return sim.FleetPlayer{}
}

// chosen are the heads of the clubs that verdicts chose.
func (a *trade) chosen() (heads []string) {
	for n := range a.made.Studios() {
		for _, v := range a.made.Rows(n).Verdicts {
			if v.Kind() != "build" {
				continue
			}
			for _, s := range v.Given.Build.Specs {
				if s.Field == event.BuildField_BUILD_HEAD_MODEL {
					heads = append(heads, s.Text)
				}
			}
		}
	}
	return heads
}

// promises holds what is said of fitters against what was planted.
func (a *trade) promises(got *enquiry.Table, truth *sim.Trade) {
	a.t.Helper()
	for i, r := range got.Rows {
		if !strings.HasPrefix(r[0].Text, "direction") {
			continue
		}
		low, high := got.Value(i, "ci_low"), got.Value(i, "ci_high")
		switch name := r[2].Text; {
		case r[1].Text == "fitter" && strings.HasSuffix(name, "-0"):
			if low < 5 {
				a.t.Errorf("%s promises too much, and is not found: %v", name, r)
			}
		case name == "later":
			if soon := got.Value(got.Find("name", "at collection"), "short"); got.Value(i, "short") < soon+5 || high < 100*math.Expm1(truth.Fades) {
				a.t.Errorf("clubs fade by %.2f: %v, at collection %.1f", truth.Fades, r, soon)
			}
		}
	}
}
