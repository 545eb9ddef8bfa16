package guess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/contract/unit"
)

// stranger is how a stranger writes.
type stranger struct {
	r                                            *rand.Rand
	shape, tongue, unitAt, side, clock, id, eol  string
	land                                         map[unit.Quantity]string
	spell                                        map[string]string
	missing                                      string
	comma, averages, again, preface, plus, quote bool
	zeros                                        bool // a missing value is 0
	biased                                       float64
}

var (
	shapes = []string{"comma", "semicolon", "tab", "pipe", "aligned", "quoted", "blocks", "pairs", "ndjson", "treed", "pretty", "eachfile",
		"attributes", "elements", "valued", "long", "transposed", "grouped"}
	sidesSaid  = []string{"sign", "sign", "sign", "after", "before", "column", "stated", "word"}
	clocksSaid = []string{"iso", "rfc", "epoch", "millis", "german", "american", "split", "month", "none", "short", "filedate"}
	idsSaid    = []string{"no", "hash", "uuid", "none", "word", "restart"}
	marksSaid  = []string{"", "-", "--", "N/A", "null", "NaN", "---", "n.a.", "—", "none"}
)

func pick[T any](r *rand.Rand, list []T) T { return list[r.IntN(len(list))] }

// strangers makes n of them, every shape in turn.
func strangers(n int, seed uint64) (out []specimen) {
	r := rand.New(rand.NewPCG(seed, 29))
	names := make([]string, 0, len(tongues))
	for t := range tongues {
		names = append(names, t)
	}
	slices.Sort(names)
	for i := range n {
		s := stranger{r: r, shape: shapes[i%len(shapes)], tongue: pick(r, names), unitAt: pick(r, []string{"bracket", "comma", "row",
			"cell", "none",
			"round", "stated"}), side: pick(r, sidesSaid), clock: pick(r, clocksSaid), id: pick(r, idsSaid), land: pick(r, lands),
			missing: pick(r, marksSaid), averages: r.IntN(4) == 0, again: r.IntN(6) == 0, preface: r.IntN(4) == 0, plus: r.IntN(6) == 0,
			eol: pick(r, []string{"\n", "\r\n", "\n"}), zeros: r.IntN(8) == 0, biased: .97 + .06*r.Float64()}
		s.spell = map[string]string{}
		for u, list := range spelt {
			s.spell[u] = pick(r, list)
		}
		out = append(out, s.specimen(i))
	}
	return out
}

func (s *stranger) table() bool {
	return slices.Contains([]string{"comma", "semicolon", "tab", "pipe", "aligned", "quoted", "grouped"}, s.shape)
}

func (s *stranger) settle() {
	s.comma = s.shape == "semicolon"
	if !s.table() {
		s.averages, s.again, s.preface = false, false, false
		if s.unitAt == "row" || s.unitAt == "stated" {
			s.unitAt = "none"
		}
		if s.side == "stated" {
			s.side = "sign"
		}
	}
	if s.shape == "grouped" && s.unitAt == "row" {
		s.unitAt = "round"
	}
	switch s.shape {
	case "ndjson", "treed", "pretty", "eachfile":
		s.tongue = pick(s.r, []string{"snake", "tree", "letters"})
		s.unitAt = pick(s.r, []string{"none", "suffix"})
		if s.shape == "treed" {
			s.tongue = "tree"
		}
	case "attributes", "elements", "valued":
		s.tongue = pick(s.r, []string{"snake", "parts", "letters", "german"})
		s.unitAt = pick(s.r, []string{"none", "cell"})
	case "pairs":
		s.tongue = pick(s.r, []string{"snake", "letters"})
		if s.unitAt != "none" {
			s.unitAt = "cell"
		}
		s.clock = pick(s.r, []string{"epoch", "none", "rfc"})
		if s.side == "word" || s.side == "after" {
			s.side = "sign"
		}
	case "eachfile ":
	}
	if s.shape == "long" || s.shape == "transposed" {
		s.averages, s.again, s.preface, s.zeros = false, false, false, false
		if s.side == "column" || s.side == "stated" {
			s.side = "sign"
		}
		if s.shape == "long" && s.id == "none" {
			s.id = "no"
		}
		if s.unitAt != "none" {
			s.unitAt = "column"
		}
	}
	if s.shape == "long" || s.shape == "transposed" || s.tongue == "tree" && s.table() {
		s.tongue = pick(s.r, []string{"parts", "german", "snake", "french"})
	}
	if s.clock == "filedate" && s.shape == "eachfile" {
		s.clock = "iso"
	}
	if s.shape == "eachfile" && s.id != "uuid" {
		s.id = "none"
	}
	if s.side == "column" && !s.table() {
		s.side = "sign"
	}
}

// measure writes a value and says what it then is.
func (s *stranger) measure(c trueColumn, v float64) (text, mark string, si float64) {
	conv, err := unit.Lookup(quantityOf(c.field), c.unit)
	if err != nil {
		panic(err)
	}
	scale := math.Pow(10, float64(c.digits))
	n := math.Round(conv.From(v)*scale) / scale
	si = conv.To(n)
	shown := n
	if mirrors[c.field] && s.side != "sign" && s.side != "stated" {
		shown = math.Abs(n)
		if n != 0 {
			marks, ok := sideMarks[s.tongue]
			if !ok {
				marks = sideMarks[""]
			}
			if s.side == "word" {
				marks = [2]string{"Left", "Right"}
			}
			mark = marks[map[bool]int{true: 1}[n > 0]]
		}
	}
	text = strconv.FormatFloat(shown, 'f', c.digits, 64)
	if s.plus && shown > 0 && mirrors[c.field] && mark == "" {
		text = "+" + text
	}
	if s.comma {
		text = strings.ReplaceAll(text, ".", ",")
	} else if s.quote && c.unit == "rpm" && len(text) > 3 && text[0] != '-' && text[0] != '+' {
		text = text[:len(text)-3] + "," + text[len(text)-3:]
	}
	if s.unitAt == "cell" && c.unit != "" {
		text += map[bool]string{true: "", false: " "}[s.shape == "pairs"] + s.spell[c.unit]
	}
	return text, mark, si
}

// times are the columns of the clock.
func (s *stranger) times(unix float64) (heads, cells []string) {
	t := time.Unix(int64(unix), 0)
	switch s.clock {
	case "iso":
		return []string{"Recorded At"}, []string{t.Format("2006-01-02T15:04:05")}
	case "rfc":
		return []string{"created"}, []string{t.UTC().Format("2006-01-02T15:04:05.000Z")}
	case "epoch":
		return []string{"ts"}, []string{fmt.Sprint(t.Unix())}
	case "millis":
		return []string{"time_ms"}, []string{fmt.Sprint(t.UnixMilli())}
	case "german":
		return []string{"Datum", "Uhrzeit"}, []string{t.Format("02.01.06"), t.Format("15:04:05")}
	case "american":
		return []string{"Shot Time"}, []string{t.Format("01/02/2006 03:04:05 PM")}
	case "split":
		return []string{"Date", "Time"}, []string{t.Format("2006-01-02"), t.Format("3:04:05 PM")}
	case "month":
		return []string{"Timestamp"}, []string{t.Format("02-Jan-2006 15:04:05")}
	case "short":
		return []string{"When"}, []string{t.Format("2006/01/02 15:04:05")}
	case "filedate":
		return []string{"Time"}, []string{t.Format("15:04:05")}
	}
	return nil, nil
}

func (s *stranger) names(no, of int) (heads, cells []string) {
	switch s.id {
	case "no":
		return []string{"No."}, []string{fmt.Sprint(no)}
	case "hash":
		return []string{"#"}, []string{fmt.Sprint(no)}
	case "word":
		return []string{"Shot"}, []string{fmt.Sprintf("Shot %d", no)}
	case "uuid":
		return []string{"guid"}, []string{fmt.Sprintf("%08x-%04x-4%03x-a%03x-%012x", s.r.Uint32(), s.r.IntN(65536), s.r.IntN(4096),
			s.r.IntN(4096), s.r.Uint64()&0xffffffffffff)}
	case "restart":
		if no > of/2 {
			no -= of / 2
		}
		return []string{"Shot Number"}, []string{fmt.Sprint(no)}
	}
	return nil, nil
}

// specimen writes one.
func (s *stranger) specimen(i int) specimen {
	s.settle()
	s.quote = s.shape == "quoted" && s.r.IntN(2) == 0
	truth := trueShots(s.r, 6+s.r.IntN(10))
	var cols []trueColumn
	leave := s.r.IntN(5)
	for k, f := range fieldOrder {
		head, ok := tongues[s.tongue][f]
		if !ok || leave > 1 && (k*7+i)%9 < leave && f != "ball_speed" && f != "carry" {
			continue
		}
		u := s.land[quantityOf(f)]
		if f == "apex" && u == "yd" && s.r.IntN(3) > 0 {
			u = "ft"
		}
		digits := map[string]int{"rpm": 0, "ms": 0, "": 2, "s": 2, "m/s": 1 + s.r.IntN(2)}[u]
		if digits == 0 && u != "rpm" && u != "ms" {
			digits = 1
		}
		cols = append(cols, trueColumn{f, head, u, digits})
	}
	out := specimen{name: fmt.Sprintf("%03d-%s-%s-%s-%s-%s-%s", i, s.shape, s.tongue, s.unitAt, s.side, s.clock, s.id)}
	g := grid{s: s, cols: cols}
	extra := []int{s.r.IntN(len(beside)), s.r.IntN(len(beside)), s.r.IntN(len(beside))}
	for k, shot := range truth {
		shot["carry"] *= s.biased
		shot["total"] *= s.biased
		shot["apex"] *= 2 - s.biased
		kept := map[string]float64{}
		var row []string
		h1, c1 := s.names(k+1, len(truth))
		h2, c2 := s.times(shot["time"])
		heads := append(append([]string{}, h1...), h2...)
		row = append(append(row, c1...), c2...)
		for j, e := range extra[:2] {
			if !slices.Contains(extra[:j], e) {
				heads, row = append(heads, beside[e][0]), append(row, beside[e][1+k%2])
			}
		}
		own := len(heads)
		for _, c := range cols {
			text, mark, si := s.measure(c, shot[c.field])
			blank := c.field != "ball_speed" && c.field != "carry" && c.field != "launch_angle" && k%4 == 2 && s.r.IntN(4) == 0
			zero := s.zeros && (c.field == "spin_rate" || c.field == "hang_time" || c.field == "clubhead_speed")
			switch {
			case blank && zero:
				text, mark = "0", ""
			case blank && !s.zeros:
				text, mark = s.missing, ""
			case blank:
				blank = false
			}
			if !blank {
				kept[c.field] = si
			}
			heads = append(heads, c.head)
			switch {
			case s.side == "column" && mirrors[c.field]:
				row, heads = append(row, text, mark), append(heads, c.head+" Side")
			case s.side == "before" && mark != "":
				row = append(row, mark+text)
			case mark != "":
				row = append(row, text+" "+mark)
			default:
				row = append(row, text)
			}
		}
		if s.clock != "none" {
			kept["time"] = shot["time"]
		}
		out.truth = append(out.truth, kept)
		g.heads, g.own, g.rows = heads, own, append(g.rows, row)
	}
	g.day = time.Unix(int64(truth[0]["time"]), 0)
	out.files = g.write(i)
	return out
}
