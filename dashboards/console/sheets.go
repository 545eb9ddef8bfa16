package console

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"

	"fairlead/dashboards/sheets"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// papers are the pages of build sheets and reports, with the names of this
// studio's people; nil where the console knows no store.
func papers(o Options, s *server) http.Handler {
	if o.Store == nil {
		return nil
	}
	return sheets.New(sheets.Options{Studio: o.Studio, Imperial: o.Imperial, Store: o.Store, Name: s.people.Name, Open: s.writer.keys.Open,
		Logger: s.log, Printer: s.printer})
}

// paperLinks lead from a bay to the papers of its latest verdict that holds;
// empty while the bay's session has none.
func (s *server) paperLinks(bay string) template.HTML {
	if s.papers == nil {
		return ""
	}
	sessions := s.writer.Timeline(bay).Sessions
	for i := len(sessions) - 1; i >= 0; i-- {
		session := sessions[i]
		if session.MovedTo != "" || session.From >= session.To {
			continue
		}
		if len(session.Verdicts) == 0 {
			return ""
		}
		last := session.Verdicts[len(session.Verdicts)-1]
		address := func(id string) string { return template.HTMLEscapeString(url.PathEscape(id)) }
		links := "Verdict, " + template.HTMLEscapeString(visit.VerdictWord(last.Given.GetKind()))
		if name := last.Given.GetBuild().GetName(); name != "" {
			links += ", <strong>" + template.HTMLEscapeString(name) + "</strong>"
		}
		links += ": "
		if last.Given.GetKind() == event.VerdictKind_VERDICT_BUILD {
			links += fmt.Sprintf(`<a id="sheet" href="/sheets/%s">build sheet</a> <a id="order" href="/orders/new?bay=%s&amp;verdict=%s">order the set</a> `, address(last.Event), address(bay), address(last.Event))
		}
		return template.HTML(links + fmt.Sprintf(`<a id="report" href="/reports/%s">player’s report</a>`, address(session.Visit)))
	}
	return ""
}
