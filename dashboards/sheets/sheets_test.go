package sheets

import (
	"bytes"
	"encoding/json"
	"errors"
	"fairlead/deploy/proof"
	"io"
	"math"
	"net/http"
	"os"
	"strings"
	"testing"

	"fairlead/processors/golf/club"
)

func TestPapersOfAMadeUpYear(t *testing.T) {
	s := newStudio(t)
	s.fill()
	url := s.serve()
	t.Run("sheet", func(t *testing.T) { aBuildSheet(t, s, url) })
	t.Run("no order", func(t *testing.T) { noOrder(t, s, url) })
	t.Run("wrong on paper", func(t *testing.T) { wrongOnPaper(t, s, url) })
	t.Run("report", func(t *testing.T) { aReport(t, s, url) })
	t.Run("list", func(t *testing.T) {
		page := get(t, url+"/sheets/", 200)
		has(t, "list", page, "v-build", "v-keep", "v-void", "taken back", "/reports/v-26", "&lt;script&gt;")
		if strings.Index(page, "v-later") > strings.Index(page, "v-build") {
			t.Error("the newest is not first")
		}
	})
	t.Run("wrong use", func(t *testing.T) {
		get(t, url+"/sheets/nobody", 404)
		get(t, url+"/reports/nobody", 404)
		get(t, url+"/reports/v-26?session=none", 404)
		get(t, url+"/sheets/v-build?units=cubits", 400)
		if _, err := s.source().Sheet(t.Context(), "v'); DROP TABLE verdicts", Units{}); !errors.Is(err, ErrNoVerdict) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("how days differ", func(t *testing.T) { learnsHowDaysDiffer(t, s) })
	t.Run("browser", func(t *testing.T) { lookAt(t, url, os.Getenv("FAIRLEAD_PICTURES")) })
}

func get(t *testing.T, address string, code int) string {
	t.Helper()
	r, err := http.Get(address)
	must(t, err)
	defer http.DefaultClient.CloseIdleConnections()
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	must(t, err)
	if r.StatusCode != code {
		t.Fatalf("%s: %d, not %d: %s", address, r.StatusCode, code, text)
	}
	if kind := r.Header.Get("Content-Type"); strings.HasPrefix(kind, "text/") {
		proof.PlainWords(t, address, string(text))
	}
	return string(text)
}

func partOf(t *testing.T, s *Sheet, field string) Part {
	t.Helper()
	for _, g := range s.Groups {
		for _, p := range g.Parts {
			if p.Field == field {
				return p
			}
		}
	}
	t.Fatalf("the sheet has no %s", field)
	return Part{}
}

func aBuildSheet(t *testing.T, s *studio, url string) {
	sheet, err := s.source().Sheet(t.Context(), "v-build", Units{Imperial: true})
	must(t, err)
	if !sheet.IsOrder || sheet.Order != "v-build" || sheet.TestClub != "TC-17" || !sheet.OwnClub || sheet.Hand != "right" ||
		sheet.Fitter != "Rowan" || sheet.Player != hostile || sheet.PlayerID != "p-ada" || sheet.Category != "driver" {
		t.Errorf("%+v", sheet)
	}
	if sheet.Check != "t-check" || len(sheet.Alerts) != 1 || sheet.Alerts[0].Stop ||
		!strings.Contains(sheet.Alerts[0].Text, "hit already: the order is done") {
		t.Errorf("alerts: %+v", sheet.Alerts)
	}
	length := partOf(t, sheet, "length")
	if length.Value != "45\u00a0in" || length.SI != "1.143\u00a0m" || math.Abs(*length.Number-45*club.Inch) > 1e-12 ||
		length.Knowledge != "measured" || length.Differs != "changed" ||
		length.Note != "CHANGED, own club: 45.75\u00a0in (−0.75\u00a0in)" || !(length.Tolerance == "± 1/16\u00a0in") ||
		length.From != "44.938\u00a0in" || length.To != "45.062\u00a0in" {
		t.Errorf("length %+v", length)
	}
	if p := partOf(t, sheet, "stated_loft"); p.Differs != "same" || p.Knowledge != "stated" || p.Note != "same as own club" ||
		p.Tolerance != "" {
		t.Errorf("stated loft %+v", p)
	}
	if p := partOf(t, sheet, "loft"); p.Value != "9.9°" || p.Differs != "new" || p.Note != "own club: unknown" || p.From != "9.4°" ||
		p.To != "10.4°" || *p.Plus != 0.5 {
		t.Errorf("loft %+v", p)
	}
	if p := partOf(t, sheet, "swing_weight"); p.Value != "D3" || p.Note != "CHANGED, own club: D5 (−2 points)" || p.From != "D2.5" ||
		p.To != "D3.5" || !strings.HasSuffix(p.SI, "kg·m") {
		t.Errorf("swing weight %+v", p)
	}
	if p := partOf(t, sheet, "frequency"); p.Value != "unknown" || p.Knowledge != "unknown" || p.Number != nil || p.Differs != "same" &&
		p.Differs != "open" {
		t.Errorf("frequency %+v", p)
	}
	if p := partOf(t, sheet, "grip_model"); p.Differs != "same" {
		t.Errorf("grip %+v", p)
	}
	// By hand: 200 g at 45−14 in, 62 g at 22−14 in, 50 g at 4−14 in.
	moment := 0.0254 * (0.200*31 + 0.062*8 - 0.050*10)
	if h := sheet.Heft; h.Verdict != addsUp || math.Abs(*h.MomentKgM-moment) > 1e-12 || math.Abs(*h.TotalKg-0.312) > 1e-12 ||
		h.SwingWeight != "D2.9" || h.Total != "312\u00a0g" || len(h.Warnings) > 0 {
		t.Errorf("heft %+v", h)
	}
	var names []string
	for _, o := range sheet.Work {
		names = append(names, o.Name)
		if len(o.Cautions) == 0 {
			t.Errorf("%s without a caution", o.Name)
		}
	}
	if got := strings.Join(names, ", "); got != "Cut the shaft, Trim the tip, Bond the head (epoxy), Weight the head, Fit the grip "+
		"(solvent), Set the hosel, Hit check" {
		t.Error("work:", got)
	}

	page := get(t, url+"/sheets/v-build", 200)
	hasNot(t, "sheet", page, "<code>v-build</code>", "<script>alert", "Fulmar <b>", "STOP.", "NaN")
	has(t, "sheet", page, "Build sheet", "not ordered yet", "&lt;script&gt;", "TC-17", "RIGHT", "CHANGED, own club",
		"60° plane to the sole", "as tested", "±&#32;0.5°"[:2], "class=\"box\"",
		"safety data sheet", "respirator", "cannot be undone", "cure", "They replace no safety data sheet", "D2.9", "Initials", "4 May 2026",
		"unknown")
	metric := get(t, url+"/sheets/v-build?units=metric", 200)
	has(t, "metric sheet", metric, "1143\u00a0mm", "(−19.1\u00a0mm)")
	text := get(t, url+"/sheets/v-build.txt", 200)
	has(t, "text", text, "BUILD SHEET   not ordered yet", "45 in", "CHANGED, own club: 45.75 in", "as built: ________",
		"[ ] Bond the head (epoxy)", hostile)
	var back Sheet
	must(t, json.Unmarshal([]byte(get(t, url+"/sheets/v-build.json", 200)), &back))
	if p := partOf(t, &back, "length"); back.Order != "v-build" || *p.Number != *length.Number || p.Unit != "m" || back.Units != "imperial" {
		t.Errorf("read again: %+v", back)
	}
}

func noOrder(t *testing.T, s *studio, url string) {
	sheet, err := s.source().Sheet(t.Context(), "v-keep", Units{})
	must(t, err)
	if sheet.IsOrder || len(sheet.Groups) > 0 || len(sheet.Work) > 0 || sheet.Kind != "keep_gamer" {
		t.Errorf("%+v", sheet)
	}
	page := get(t, url+"/sheets/v-keep", 200)
	has(t, "page", page, "No order", "Keep the own club: there is nothing to build.", "no gain seen")
	hasNot(t, "page", page, "As built", "class=\"box\"", "Build sheet</h1>")
	has(t, "text", get(t, url+"/sheets/v-keep.txt", 200), "NO ORDER", "nothing to build")
}

func wrongOnPaper(t *testing.T, s *studio, url string) {
	void, err := s.source().Sheet(t.Context(), "v-void", Units{})
	must(t, err)
	if void.IsOrder || !void.Alerts[0].Stop || !strings.HasPrefix(void.Alerts[0].Text, "VOID. This verdict was taken back on 4 June 2026") ||
		!strings.Contains(void.Alerts[0].Text, "wrong trial") {
		t.Errorf("void: %+v", void.Alerts)
	}
	has(t, "void", get(t, url+"/sheets/v-void", 200), "STOP.", "VOID.", "Do not build from this sheet")
	amended, err := s.source().Sheet(t.Context(), "v-amend", Units{})
	must(t, err)
	all := ""
	stops := 0
	for _, a := range amended.Alerts {
		all += a.Text + "\n"
		if a.Stop {
			stops++
		}
	}
	has(t, "amended", all, "CORRECTED SINCE.", "head weight 320\u00a0g, there 305\u00a0g", "A LATER VERDICT", "test again", "do not add up",
		"weigh 485\u00a0g, 35\u00a0g more than the total of 450\u00a0g", "points above the C8", "Unknown, to be settled", "shaft", "grip")
	if stops != 3 {
		t.Errorf("%d stops: %s", stops, all)
	}
	if p := partOf(t, amended, "head_weight"); p.Value != "320\u00a0g" { // the verdict's, as it was given
		t.Errorf("head weight %+v", p)
	}
	var names []string
	for _, o := range amended.Work {
		names = append(names, o.Name+": "+o.Why)
	}
	has(t, "work", strings.Join(names, "\n"), "Take the head off: if the player's own head is used again",
		"Bend loft or lie: loft +2° against what is printed on the head")
	has(t, "amended", get(t, url+"/sheets/v-amend", 200), "never", "Never bend past the maker", "unknown")
	hasNot(t, "amended", get(t, url+"/sheets/v-amend", 200), "Toe hang", "NaN")
	var b bytes.Buffer
	must(t, amended.WriteText(&b))
	has(t, "text", b.String(), "!!! STOP: CORRECTED SINCE.", "Does not add up")
}

func aReport(t *testing.T, s *studio, url string) {
	r, err := s.source().Report(t.Context(), "v-26", "", Units{Imperial: true})
	must(t, err)
	if len(r.Sessions) != 2 || r.Player != hostile || r.Day.Year() != 2026 {
		t.Fatalf("%+v", r)
	}
	d := r.Sessions[0]
	if d.Category != "driver" || d.Shots != 35 || d.LeftOut != 1 || len(d.Tried) != 2 || d.Aim != "straighter & longer" ||
		d.Setting != "indoor, mat, Pebble premium balls" {
		t.Errorf("driver: %+v", d)
	}
	own, fulmar := d.Tried[0], d.Tried[1]
	if !own.Own || !own.Base || own.Shots != 20 || own.Felt[0] != "“heavy, late”, dislikes it" || fulmar.Shots != 15 {
		t.Errorf("own %+v, new %+v", own, fulmar)
	}
	has(t, "changes", strings.Join(fulmar.Changes, "\n"), "Length: 45\u00a0in instead of 45.75\u00a0in", "Head: Fulmar instead of Gannet",
		"Shaft: Osier 60 instead of Withy 50")
	has(t, "unknown", fulmar.Unknown, "lie", "shaft weight")
	if len(d.Found) != 1 || !d.Found[0].Chosen {
		t.Fatalf("found: %+v", d.Found)
	}
	// The same shots weighed by the page give the same numbers.
	carry := statementOf(t, d.Found[0], "carry")
	if carry.Verdict != "better" || *carry.Change < 5 || *carry.Change > 20 || *carry.Low >= *carry.Change ||
		!strings.HasPrefix(carry.Text, "Longer: +") || !strings.Contains(carry.Text, "range +") || !strings.Contains(carry.Text, "yd") {
		t.Errorf("carry: %+v", carry)
	}
	if len(d.Decided) != 1 || !d.Decided[0].Ordered || d.Decided[0].Verdict != "v-build" || len(d.Decided[0].Promises) != 2 {
		t.Fatalf("decided: %+v", d.Decided)
	}
	p := d.Decided[0].Promises
	if p[0].Text != "+10\u00a0yd, range +5 to +15\u00a0yd" || p[1].Text != "40\u00a0% tighter, range 60\u00a0% to 10\u00a0% tighter" {
		t.Errorf("promised %+v", p)
	}
	if p[0].Measured == nil || p[0].SE == nil || *p[0].Measured < 2 || *p[0].Measured > 18 ||
		!strings.HasPrefix(p[0].Kept, "Measured on the delivered club: +") || !strings.Contains(p[0].Kept, "in keeping with the promise") {
		t.Errorf("kept: %+v", p[0])
	}
	if e := d.Earlier; e == nil || e.Visit != "v-25" || e.Day.Year() != 2025 || len(e.Differs) != 0 ||
		!strings.Contains(e.Text, "clubhead speed") || !strings.HasPrefix(e.Text, "Changed by more") {
		t.Errorf("earlier: %+v", d.Earlier)
	}
	if len(d.Drawings) < 3 || strings.Contains(string(d.Drawings[0].SVG), "<b>") {
		t.Errorf("drawings %+v", d.Drawings)
	}
	irons := r.Sessions[1]
	if irons.Decided[0].Kind != "keep_gamer" || irons.Decided[0].Ordered || irons.Found[0].Chosen || len(irons.Drawings) == 0 ||
		irons.Earlier != nil {
		t.Errorf("irons: %+v", irons)
	}
	has(t, "irons", irons.Found[0].Headline, "Cannot tell yet")

	page := get(t, url+"/reports/v-26", 200)
	hasNot(t, "report", page, "<script>alert", "<i>square", "Fulmar <b>", "NaN", "incumbent", "e-value")
	has(t, "report", page, "Your fitting", "&lt;script&gt;", "easy to &lt;i&gt;square", "What you may expect",
		"Odds that it is longer: more than 99 in 100", "Cannot tell yet", "Words used here", "Hit check", "<svg",
		"Since your visit of 4 May 2025", "fewer than ten times", "topped")
	one := get(t, url+"/reports/v-26?session=s-26i", 200)
	hasNot(t, "one session", one, "Gannet")
	has(t, "text", get(t, url+"/reports/v-26.txt", 200), "WHAT WAS DECIDED", "+10 yd, range +5 to +15 yd",
		"SINCE YOUR LAST VISIT")
	var back Report
	must(t, json.Unmarshal([]byte(get(t, url+"/reports/v-26.json", 200)), &back))
	if len(back.Sessions) != 2 || back.Sessions[0].Decided[0].Promises[0].Change != 9.144 {
		t.Errorf("read again: %+v", back)
	}
	short := d.Short
	has(t, "in short", short.Changed, "This club is to be built: Fulmar <b>short</b> (head: Fulmar instead of Gannet",
		"length: 45\u00a0in instead of 45.75\u00a0in")
	has(t, "in short", short.Gains, "Expected of it: carry +10\u00a0yd (range +5 to +15\u00a0yd; odds that it is longer: more than 99 in 100)",
		"measured on the delivered club")
	if short.Picture == nil || !strings.HasPrefix(short.Next, "The delivered club was hit") {
		t.Errorf("in short: %+v", short)
	}
	has(t, "irons in short", irons.Short.Changed, "Keep your own club")
	has(t, "text", get(t, url+"/reports/v-26.txt", 200), "IN SHORT")
	var browser *browser
	for _, path := range []string{"/reports/v-26.pdf", "/reports/v-26.pdf?all=1", "/sheets/v-build.pdf?units=metric"} {
		if pdf := get(t, url+path, 200); !strings.HasPrefix(pdf, "%PDF-") || !strings.Contains(pdf[max(0, len(pdf)-1024):], "%%EOF") {
			t.Errorf("%s is no whole PDF: %d bytes", path, len(pdf))
		}
		// One browser prints them all; where it went meanwhile, another is begun.
		if browser == nil {
			browser = s.printer.browser
			must(t, killGroup(browser.command))
		} else if s.printer.browser == browser {
			t.Errorf("%s is said to be printed by a browser that was killed", path)
		} else if again := s.printer.browser; get(t, url+path, 200) == "" || s.printer.browser != again {
			t.Errorf("%s asked for again began another browser", path)
		}
	}
	get(t, url+"/sheets/nobody.pdf", 404)
	wedge := get(t, url+"/reports/v-27", 200)
	has(t, "wedge", wedge, "was taken back and does not hold", "Test again before deciding")
}

func statementOf(t *testing.T, f Finding, name string) Statement {
	t.Helper()
	for _, o := range f.Outcomes {
		if o.Outcome == name {
			return o
		}
	}
	t.Fatalf("nothing said of %s", name)
	return Statement{}
}
