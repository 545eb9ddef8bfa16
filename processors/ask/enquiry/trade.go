package enquiry

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"
	"gonum.org/v1/gonum/stat/distuv"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// months lists sessions, verdicts and promises by month, and whether new clubs become
// more.
func months(ctx context.Context, d *desk, t *Table) error {
	t.Columns = []Column{{"month", "month", "", Text}, {"sessions", "sessions", "", Count}, {"players", "players", "", Count}, {"shots",
		"shots", "", Count},
		{"decided", "verdicts", "", Count}, {"new", "new clubs", "", Count}, {"share", "share of verdicts", "", Share}, {"low", "95 % from",
			"", Share},
		{"high", "to", "", Share}, {"promised", "promised of direction", "%", Change}}
	type month struct {
		at           float64
		decided, new uint64
	}
	var all []month
	var sessions, players, shots, decided, taken, promises uint64
	var name string
	var promised, spread float64
	sum := uint64(0)
	where, choice := d.of.Filter.Trade("first_shot"), d.of.Filter.Trade("at")
	err := d.rows(ctx, question.Months(where, choice), func(r driver.Rows) error {
		if err := r.Scan(&name, &sessions, &players, &shots, &decided, &taken, &promised, &spread, &promises); err != nil {
			return err
		}
		share, low, high := math.NaN(), math.NaN(), math.NaN()
		if decided > 0 {
			share = float64(taken) / float64(decided)
			low, high = wilson(taken, decided)
			all = append(all, month{float64(len(t.Rows)), decided, taken})
		}
		mean := math.NaN()
		if promises > 0 {
			mean = 100 * math.Expm1(promised)
		}
		sum += sessions
		t.Add(T(name), C(sessions), C(players), C(shots), C(decided), C(taken), N(share), N(low), N(high), N(mean))
		return nil
	})
	if err != nil {
		return err
	}
	if len(t.Rows) == 0 {
		return tooLittle("no session was held", "widen the filters")
	}
	t.say("%d sessions in %d months, %.0f a month.", sum, len(t.Rows), float64(sum)/float64(len(t.Rows)))
	var n, y, x, xx, xy float64
	for _, m := range all {
		w, share := float64(m.decided), float64(m.new)/float64(m.decided)
		n, y, x, xx, xy = n+w, y+w*share, x+w*m.at, xx+w*m.at*m.at, xy+w*m.at*share
	}
	if n > 0 {
		p := y / n
		text := fmt.Sprintf("%.0f %% of %.0f verdicts were a new club", 100*p, n)
		if sxx := xx - x*x/n; sxx > 0 && len(all) >= 3 {
			slope, se := (xy-x*y/n)/sxx, math.Sqrt(p*(1-p)/sxx)
			t.say("%s; the share changes by %+.2f points a month (95 %% interval %+.2f to %+.2f).", text, 100*slope, 100*(slope-1.96*se),
				100*(slope+1.96*se))
		} else {
			t.say("%s.", text)
		}
		t.Plot = &Plot{Label: "month", Value: "share", Low: "low", High: "high", Unit: "share of verdicts that were a new club", Better: 1}
	}
	return nil
}

// stock asks what of each head, shaft and grip the next month will take: a rate of its
// own, drawn toward that of the part's models by as much as its months leave open
// (gamma and Poisson), and a number that suffices in nineteen months of twenty.
func stock(ctx context.Context, d *desk, t *Table) error {
	type key struct{ part, model string }
	chosen := map[key]map[string]uint64{}
	seen := map[string]bool{}
	var part, model, month string
	var n uint64
	err := d.rows(ctx, question.Chosen(d.of.Filter.Trade("first_shot"), d.of.Filter.Trade("at")), func(r driver.Rows) error {
		if err := r.Scan(&part, &model, &month, &n); err != nil {
			return err
		}
		if chosen[key{part, model}] == nil {
			chosen[key{part, model}] = map[string]uint64{}
		}
		chosen[key{part, model}][month] = n
		seen[month] = true
		return nil
	})
	if err != nil {
		return err
	}
	if len(chosen) == 0 {
		return tooLittle("no new club was chosen", "record verdicts")
	}
	var all []string
	for m := range seen {
		all = append(all, m)
	}
	slices.Sort(all)
	span := float64(monthsBetween(all[0], all[len(all)-1]))
	t.Columns = []Column{{"part", "part", "", Text}, {"model", "model", "", Text}, {"chosen", "chosen so far", "", Count}, {"expected",
		"expected next month", "", Number},
		{"low", "95 % from", "", Number}, {"high", "to", "", Number}, {"stock", "enough in 19 months of 20", "", Count}}
	t.Plot = &Plot{Group: "part", Label: "model", Value: "expected", Low: "low", High: "high", Unit: "clubs a month", Better: 0}
	for _, part := range []string{"head", "shaft", "grip"} {
		var rows []key
		total := 0.0
		for k, by := range chosen {
			if k.part == part {
				rows = append(rows, k)
				for _, n := range by {
					total += float64(n)
				}
			}
		}
		if len(rows) == 0 {
			continue
		}
		sum := func(k key) (s float64) {
			for _, n := range chosen[k] {
				s += float64(n)
			}
			return s
		}
		slices.SortFunc(rows, func(a, b key) int { return cmp.Or(cmp.Compare(sum(b), sum(a)), cmp.Compare(a.model, b.model)) })
		mean := total / span / float64(len(rows))
		for _, k := range rows {
			// A month of the average model is what is believed beforehand.
			shape, rate := sum(k)+mean, span+1
			g := distuv.Gamma{Alpha: shape, Beta: rate}
			t.Add(T(part), T(k.model), N(sum(k)), N(shape/rate), N(g.Quantile(0.025)), N(g.Quantile(0.975)), N(float64(enough(shape, rate, 0.95))))
		}
		k := rows[0]
		t.say("Of %ss %s goes most: %.1f expected next month, and %d in stock are enough in nineteen months of twenty.", part, k.model,
			(sum(k)+mean)/(span+1), enough(sum(k)+mean, span+1, 0.95))
	}
	t.note("from %.0f months of verdicts that chose a new club, %s to %s, as if months were alike; a season is not in it", span, all[0],
		all[len(all)-1])
	return nil
}

// enough is the least stock that suffices with a chance, of a month's demand that is
// Poisson with a gamma rate (negative binomial).
func enough(shape, rate, chance float64) int {
	p := rate / (rate + 1)
	mass := math.Pow(p, shape)
	sum := mass
	for k := 0; ; k++ {
		if sum >= chance || k > 1_000_000 {
			return k
		}
		mass *= (shape + float64(k)) / float64(k+1) * (1 - p)
		sum += mass
	}
}

// leastTried sessions must have tried a part before it can be called never chosen.
const leastTried = 5

// never lists what is tried and not chosen, those first that chance would have chosen.
func never(ctx context.Context, d *desk, t *Table) error {
	type row struct {
		part, model    string
		tried, chosen  uint64
		expected, none float64
	}
	var all []row
	err := d.rows(ctx, question.Never(d.of.Filter.Trade("first_shot"), d.of.Filter.Trade("at"), leastTried), func(r driver.Rows) error {
		var x row
		if err := r.Scan(&x.part, &x.model, &x.tried, &x.chosen, &x.expected, &x.none); err != nil {
			return err
		}
		all = append(all, x)
		return nil
	})
	if err != nil {
		return err
	}
	if len(all) == 0 {
		return tooLittle(fmt.Sprintf("nothing was tried in %d sessions that ended with a new club", leastTried), "record verdicts")
	}
	t.Columns = []Column{{"part", "part", "", Text}, {"model", "model", "", Text}, {"tried", "sessions that tried it", "", Count},
		{"chosen", "chosen", "", Count},
		{"expected", "if all were alike", "", Number}, {"share", "share", "", Share}, {"share_high", "at most (95 %)", "", Share}, {"p",
			"p of so few", "", Odds}}
	for i := range all {
		x := &all[i]
		if x.chosen > 0 { // so few or fewer: a Poisson tail
			x.none = math.Log(max(distuv.Poisson{Lambda: x.expected}.CDF(float64(x.chosen)), 1e-300))
		}
	}
	slices.SortStableFunc(all, func(a, b row) int {
		return cmp.Or(cmp.Compare(min(a.chosen, 1), min(b.chosen, 1)), cmp.Compare(a.none, b.none))
	})
	var p []float64
	for _, x := range all {
		p = append(p, math.Exp(x.none))
	}
	adjusted := fleet.BenjaminiHochberg(p)
	said := 0
	for i, x := range all {
		_, high := wilson(x.chosen, x.tried)
		t.Add(T(x.part), T(x.model), C(x.tried), C(x.chosen), N(x.expected), N(float64(x.chosen)/float64(x.tried)), N(high), N(p[i]))
		if x.chosen == 0 && adjusted[i] <= fleet.FalseDiscovery && x.part != "build" {
			said++
			t.say("The %s %s was tried in %d sessions and never chosen; had all that were tried been alike it would have been %.0f "+
				"times (p %s).", x.part, x.model,
				x.tried, x.expected, odds(p[i]))
		}
	}
	if said == 0 {
		t.say("Nothing is passed over more than chance explains.")
	}
	t.note("of sessions that ended with a new club; what fewer than %d of them tried is left out", leastTried)
	return nil
}

// wilson is the 95 % interval of a share (Wilson, J. Am. Stat. Assoc. 22:209, 1927).
func wilson(k, n uint64) (low, high float64) {
	if n == 0 {
		return 0, 1
	}
	const z = 1.959964
	p, m := float64(k)/float64(n), float64(n)
	mid, half := (p+z*z/(2*m))/(1+z*z/m), z*math.Sqrt(p*(1-p)/m+z*z/(4*m*m))/(1+z*z/m)
	return max(mid-half, 0), min(mid+half, 1)
}

func monthsBetween(from, to string) int {
	var a, b, x, y int
	fmt.Sscanf(from, "%d-%d", &a, &x)
	fmt.Sscanf(to, "%d-%d", &b, &y)
	return (b-a)*12 + y - x + 1
}

// tooLittle is why there is not enough to say.
func tooLittle(why, try string) error {
	return &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"}, Reason: why, Try: try}
}

// rows asks the store and hands out each row.
func (d *desk) rows(ctx context.Context, sql string, do func(driver.Rows) error) error {
	rows, err := d.fleet.Store().Conn().Query(ctx, sql)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := do(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}
