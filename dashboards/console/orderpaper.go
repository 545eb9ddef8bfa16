package console

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/dashboards/sheets"
	bench "fairlead/processors/golf/club/order"
)

// paperStyles are what the order's paper looks by.
var paperStyles = []string{"assets/page.css", "assets/orders.css"}

// orderPDF is an order's paper as its page prints it, with its style in it, so that
// nothing is fetched.
func (s *server) orderPDF(w http.ResponseWriter, r *http.Request) {
	o, bay := s.found(w, r)
	if o == nil {
		return
	}
	style := template.CSS(draw.Style)
	for _, name := range paperStyles {
		text, err := files.ReadFile(name)
		if err != nil {
			s.fail(w, http.StatusInternalServerError, err)
			return
		}
		style += template.CSS(text)
	}
	var b bytes.Buffer
	err := s.pages.ExecuteTemplate(&b, "orderpaper.html", map[string]any{"Title": "Order " + bench.Label(o.Number()), "Studio": s.studio,
		"V": s.orderView(o, bay, r), "Inline": style})
	if err == nil {
		var pdf []byte
		if pdf, err = s.printer.Print(r.Context(), b.Bytes()); err == nil {
			sheets.Give(w, pdf, "order-"+o.Number())
			return
		}
	}
	s.failTo(w, r, http.StatusServiceUnavailable, err)
}

// failTo says what is wrong as a page to who browses, and as JSON to programs that ask
// for a paper in another form.
func (s *server) failTo(w http.ResponseWriter, r *http.Request, code int, err error) {
	if strings.Contains(r.URL.Path, "/paper.") && !strings.Contains(r.Header.Get("Accept"), "text/html") {
		writeJSON(w, code, problem{Error: err.Error()})
		return
	}
	s.fail(w, code, err)
}

// orderText is the paper as lines of text.
func (s *server) orderText(w http.ResponseWriter, r *http.Request) {
	if o, bay := s.found(w, r); o != nil {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		s.orderView(o, bay, r).writeText(w, s.studio)
	}
}

// orderJSON is what was ordered, in stored units, and where it stands.
func (s *server) orderJSON(w http.ResponseWriter, r *http.Request) {
	o, bay := s.found(w, r)
	if o == nil {
		return
	}
	given, err := protoJSON(o.Given)
	if err != nil {
		writeJSON(w, http.StatusInternalServerError, problem{Error: err.Error()})
		return
	}
	v := s.orderHead(o, bay)
	writeJSON(w, http.StatusOK, map[string]any{"number": v.Number, "label": v.Label, "player": v.Player, "category": v.Category, "bay": bay,
		"state": v.State, "placed_unix_ns": o.At, "promised_unix_ns": o.Promised(), "order": rawJSON(given)})
}

// writeText writes what the bench needs: clubs, figures with their limits, work and
// its cautions.
func (v orderView) writeText(w io.Writer, studio string) {
	plain := strings.NewReplacer("\u00a0", " ", "\u202f", " ")
	say := func(format string, args ...any) { plain.WriteString(w, fmt.Sprintf(format, args...)+"\n") }
	say("Order %s  %s, %s  %s", v.Label, v.Player, v.Category, v.State)
	line := studio + ", ordered " + v.Placed
	if v.By != "" {
		line += " by " + v.By
	}
	if v.Promised != "" {
		line += ", promised for " + v.Promised
	}
	say("%s", line)
	if v.Words != "" {
		say("%s", v.Words)
	}
	if v.Unhit {
		say("Nobody hit this build.")
	}
	for _, c := range v.Clubs {
		say("\n%s  %s", c.Name, strings.Join(c.Parts, ", "))
		for _, f := range c.Figures {
			passes := ""
			if f.Limits != "" {
				passes = "passes " + f.Limits
			}
			say("  %-16s %-12s %-31s %s", f.Label, f.Value, passes, f.Origin)
		}
		for _, work := range c.Work {
			say("  [ ] %s", work)
		}
		if c.Unsure != "" {
			say("  %s", c.Unsure)
		}
	}
	for _, step := range v.Steps {
		say("\n%s", step.Name)
		for _, c := range step.Cautions {
			say("  %s %s (%s)", c.Hazard, c.Do, c.Source)
		}
	}
	for _, rule := range v.Rules {
		say("%s", strings.TrimSpace(rule.Club+" "+rule.Text))
	}
	say("Rules as of %s; the rules bodies decide. %s", v.RulesAsOf, v.Address)
}
