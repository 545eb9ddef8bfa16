package console

import (
	"cmp"
	"context"
	"encoding/csv"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"fairlead/dashboards/gate"
	"fairlead/ingest/contract/event"
	ask "fairlead/processors/hub/store/question"
	"fairlead/processors/visit"
)

// The studio's own mirror: what came of its orders, by who fitted, what was built,
// of which parts, and when. Nobody is ranked by it: a row of few orders says little,
// and the page says so.

// mirrorRow is what came of some of the orders.
type mirrorRow struct {
	Of                       string
	Orders, Clubs, Delivered int
	Rework, Remade, Returned int // clubs, each time it happened
	Checked                  int // orders whose club was hit again
	Promises, Kept           uint64
	took                     []time.Duration
	Usual                    string // from verdict to ready
	Share                    string // promises inside of what was promised, with its interval
	key                      string
}

type mirrorPart struct {
	What string
	Rows []mirrorRow
}

func (s *server) mirror(r *http.Request) (parts []mirrorPart, why string) {
	kept, err := s.promisesKept(r.Context())
	if err != nil {
		why = "The store is away: which promises were kept can’t be read now."
	}
	checks := s.book.checks(r.Context())
	by := map[string]map[string]*mirrorRow{}
	add := func(what, key, of string, o *visit.Order) {
		if key == "" {
			return
		}
		if by[what] == nil {
			by[what] = map[string]*mirrorRow{}
		}
		if by[what][key] == nil {
			by[what][key] = &mirrorRow{Of: of, key: key}
		}
		by[what][key].count(s, o, kept, len(checks.Live(o.Given.GetVerdict())) > 0)
	}
	own, all := ownMirror(r)
	for _, o := range s.book.all(r.Context()) {
		if state, _ := o.State(); state == event.OrderState_ORDER_CANCELLED {
			continue
		}
		if fitter := cmp.Or(o.Session.Fitter, o.Who); all || fitter == own {
			add("By fitter", cmp.Or(fitter, "?"), cmp.Or(s.people.Name(fitter), "nobody named"), o)
		}
		seen := map[string]bool{}
		for _, c := range o.Given.GetClubs() {
			build := strings.Trim(c.GetBuild().Spec(event.BuildField_BUILD_HEAD_MODEL).GetText()+" + "+
				c.GetBuild().Spec(event.BuildField_BUILD_SHAFT_MODEL).GetText(), " +")
			if build != "" && !seen[build] {
				seen[build] = true
				add("By build", build, build, o)
			}
			for _, f := range []event.BuildField{event.BuildField_BUILD_HEAD_MODEL, event.BuildField_BUILD_SHAFT_MODEL,
				event.BuildField_BUILD_GRIP_MODEL} {
				info, _ := f.Info()
				if text := c.GetBuild().Spec(f).GetText(); text != "" && !seen[info.Label+text] {
					seen[info.Label+text] = true
					add("By part", info.Label+" "+text, strings.ToLower(info.Label)+" "+text, o)
				}
			}
		}
		month := time.Unix(0, o.At).Format("2006-01")
		add("By month", month, month, o)
	}
	for _, what := range []string{"By fitter", "By build", "By part", "By month"} {
		p := mirrorPart{What: what}
		for _, row := range by[what] {
			p.Rows = append(p.Rows, row.told())
		}
		slices.SortFunc(p.Rows, func(a, b mirrorRow) int {
			if what == "By month" {
				return strings.Compare(b.key, a.key)
			}
			return strings.Compare(a.key, b.key)
		})
		if len(p.Rows) > 0 {
			parts = append(parts, p)
		}
	}
	return parts, why
}

// ownMirror says whose row of fitters one sees: managers all, a fitter the own one.
func ownMirror(r *http.Request) (own string, all bool) {
	i := gate.From(r.Context())
	if i == nil || i.Hub || i.Has(gate.Manager) {
		return "", true
	}
	return i.Person, false
}

func (m *mirrorRow) count(s *server, o *visit.Order, kept map[string][2]uint64, checked bool) {
	m.Orders++
	m.Clubs += len(o.Given.GetClubs())
	if state, _ := o.State(); state == event.OrderState_ORDER_DELIVERED {
		m.Delivered++
	}
	for _, all := range o.Built {
		for _, b := range all {
			switch b.Given.GetJudgement() {
			case event.BuiltJudgement_BUILT_REWORK:
				m.Rework++
			case event.BuiltJudgement_BUILT_REMAKE:
				m.Remade++
			case event.BuiltJudgement_BUILT_RETURNED:
				m.Returned++
			}
		}
	}
	if took, ok := o.Since(event.OrderState_ORDER_READY); ok {
		m.took = append(m.took, took+s.beforeOrder(o))
	}
	if checked {
		m.Checked++
	}
	k := kept[o.Given.GetVerdict()]
	m.Promises, m.Kept = m.Promises+k[0], m.Kept+k[1]
}

func (m *mirrorRow) told() mirrorRow {
	if len(m.took) > 0 {
		slices.Sort(m.took)
		m.Usual = sayTook(m.took[len(m.took)/2])
	}
	if m.Promises > 0 {
		m.Share = fmt.Sprintf("%d of %d", m.Kept, m.Promises)
	}
	return *m
}

// promisesKept counts of each verdict the promises that were measured, and those
// that lay inside of what was promised.
func (s *server) promisesKept(ctx context.Context) (map[string][2]uint64, error) {
	out := map[string][2]uint64{}
	if s.book.store == nil {
		return out, nil
	}
	st, err := s.book.opened()
	if err != nil {
		return out, err
	}
	rows, err := st.Conn().Query(ctx, ask.PromisesKept(), s.studio)
	if err != nil {
		return out, fmt.Errorf("promises that were kept: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var verdict string
		var n [2]uint64
		if err := rows.Scan(&verdict, &n[0], &n[1]); err != nil {
			return out, fmt.Errorf("promises that were kept: %w", err)
		}
		out[verdict] = n
	}
	return out, rows.Err()
}

func (s *server) mirrorPage(w http.ResponseWriter, r *http.Request) {
	parts, why := s.mirror(r)
	s.show(w, http.StatusOK, "mirror.html", map[string]any{"Title": "How orders came out", "Studio": s.studio, "Parts": parts, "Why": why})
}

func (s *server) mirrorCSV(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="orders.csv"`)
	out := csv.NewWriter(w)
	out.Write([]string{"by", "of", "orders", "clubs", "delivered", "rework", "remade", "returned", "checked", "promises", "kept"})
	parts, _ := s.mirror(r)
	for _, p := range parts {
		for _, m := range p.Rows {
			row := []string{strings.ToLower(strings.TrimPrefix(p.What, "By ")), plainCell(m.Of)}
			for _, n := range []int{m.Orders, m.Clubs, m.Delivered, m.Rework, m.Remade, m.Returned, m.Checked, int(m.Promises), int(m.Kept)} {
				row = append(row, fmt.Sprint(n))
			}
			out.Write(row)
		}
	}
	if out.Flush(); out.Error() != nil {
		s.log.Debug("a list was broken off by who asked for it", "error", out.Error())
	}
}
