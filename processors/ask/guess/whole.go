package guess

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"fairlead/ingest/bay/sample"
	"fairlead/ingest/contract/unit"
)

// What several questions leave open is asked in one, where the ways in which they
// may be answered are few: each option is a whole reading of the file, said by what
// its first shot is then. Its word holds the answers to the single questions.

const (
	// WholeReading is the key of the question that asks all at once.
	WholeReading = "reading"
	// NoReading answers it: none of these, ask one by one.
	NoReading = "none"
	// mostReadings is from how many on a list is no help any more.
	mostReadings = 9
	// mostDrafts bounds how many drafts are made to find them.
	mostDrafts = 24
)

// part is one answer to a single question.
type part struct{ key, value, means string }

// wholly is a whole reading: the answers that make it, and what it costs.
type wholly struct {
	parts []part
	cost  float64
	draft *draft
}

// unfolded takes the answer of a whole reading apart into single ones; what is
// answered by itself outranks it.
func unfolded(answers map[string]string) map[string]string {
	said, ok := answers[WholeReading]
	if !ok || said == NoReading {
		return answers
	}
	out := map[string]string{}
	for said != "" {
		text := ""
		if quoted, err := strconv.QuotedPrefix(said); err == nil {
			text, _ = strconv.Unquote(quoted)
			said = strings.TrimPrefix(said[len(quoted):], "; ")
		} else {
			text, said, _ = strings.Cut(said, "; ")
		}
		if key, value, ok := strings.Cut(text, "="); ok {
			out[key] = value
		}
	}
	maps.Copy(out, answers)
	return out
}

// word is a whole reading as an answer.
func (w wholly) word() string {
	var out []string
	for _, p := range w.parts {
		text := p.key + "=" + p.value
		if strings.ContainsAny(text, ";\"") {
			text = strconv.Quote(text)
		}
		out = append(out, text)
	}
	return strings.Join(out, "; ")
}

// says is a whole reading in words.
func (w wholly) says() string {
	var out []string
	for _, p := range w.parts {
		out = append(out, p.means)
	}
	text := strings.Join(out, "; ")
	if shot := w.firstShot(); shot != "" {
		text += " (first shot: " + shot + ")"
	}
	return text
}

// firstShot is what the reading makes of the first shot that tells it from others.
func (w wholly) firstShot() string {
	d := w.draft
	list := shots(d.fields, d.t.Rows, d.rolled)
	if len(list) == 0 {
		return ""
	}
	side := ""
	for _, p := range w.parts {
		if p.key == "side" {
			side = p.value
		}
	}
	var out []string
	for _, name := range []string{"carry", "offline", "total_offline", "launch_direction"} {
		v, ok := list[0][name]
		at := slices.IndexFunc(d.fields, func(f *Field) bool { return f.Name == name })
		if !ok || at < 0 || len(out) == 2 {
			continue
		}
		f := d.fields[at]
		u := "m"
		if f.info.Quantity == unit.Angle {
			u = "deg"
		}
		if !f.info.Mirrors {
			out = append(out, fmt.Sprintf("%s %.1f %s", strings.ToLower(f.info.Label), v, u))
			continue
		}
		to := [2]string{"right", "left"}
		if side == "hand" {
			to = [2]string{"right of a right-hander", "left of a right-hander"}
		}
		where := to[0]
		if turned := side == "left" && f.Positive == nil && d.isLoose(f); v < 0 != turned {
			where = to[1]
		}
		out = append(out, fmt.Sprintf("%s %.1f %s %s", strings.ToLower(f.info.Label), max(v, -v), u, where))
		break
	}
	return strings.Join(out, ", ")
}

// readings finds the whole readings that answers to the open questions make, the
// likeliest first. again drafts anew with more answers. It gives none where one
// question is all that is asked; of many, the likeliest are drafted first.
func (d *draft) readings(again func(answers map[string]string) (*draft, error)) []wholly {
	type node struct {
		parts []part
		d     *draft
		cost  float64
	}
	open, leaves := []node{{nil, d, 0}}, []wholly{}
	depth, made := 0, 0
	for len(open) > 0 {
		slices.SortStableFunc(open, func(a, b node) int { return cmp.Compare(a.cost, b.cost) })
		at := open[0] // the likeliest first: of many, those are what is offered
		open = open[1:]
		i := slices.IndexFunc(at.d.questions, func(q Question) bool { return !independent(q.Key) })
		if i < 0 {
			depth = max(depth, len(at.parts)+len(at.d.questions))
			leaves = append(leaves, at.d.multiplied(at.parts)...)
			continue
		}
		q := at.d.questions[i]
		if strings.HasPrefix(q.Key, ToldField) {
			return nil
		}
		for k, o := range q.Options {
			if q.Key == "names" && o == "no" || k > 4 {
				continue
			}
			parts := append(slices.Clone(at.parts), part{q.Key, o, q.means(k)})
			if made++; made > mostDrafts {
				break
			}
			given := maps.Clone(d.answers)
			if given == nil {
				given = map[string]string{}
			}
			for _, p := range parts {
				given[p.key] = p.value
			}
			next, err := again(given)
			if err != nil || slices.ContainsFunc(next.questions, func(o Question) bool { return o.Key == q.Key }) {
				continue
			}
			open = append(open, node{parts, next, next.cost() + next.mixed()})
		}
	}
	if depth < 2 || len(leaves) < 2 {
		return nil
	}
	slices.SortStableFunc(leaves, func(a, b wholly) int { return cmp.Compare(a.cost, b.cost) })
	return leaves[:min(len(leaves), mostReadings)]
}

// independent says that a question bears on no other: which side, which day.
func independent(key string) bool { return key == "side" || key == "date" }

// What makes an answer less likely than the first of its question.
const unlikelier = .7

// multiplied are the readings that the questions which bear on no other make of one.
func (d *draft) multiplied(parts []part) []wholly {
	out := []wholly{{parts, d.cost() + d.mixed(), d}}
	for _, q := range d.questions {
		var more []wholly
		for _, w := range out {
			for k, o := range q.Options {
				more = append(more, wholly{append(slices.Clone(w.parts), part{q.Key, o, q.means(k)}), w.cost + unlikelier*float64(k), d})
			}
		}
		out = more
	}
	return out
}

// means says in a few words what an option of a question means among others.
func (q Question) means(option int) string {
	o, words := q.Options[option], q.Words[option]
	switch {
	case q.Key == "side" && o == "right", q.Key == "side" && o == "left":
		return o + " is positive"
	case q.Key == "side" && o == "hand":
		return "positive by the player's hand"
	case q.Key == "date":
		return "31 December is written " + words
	case q.Brief != "":
		return strings.ReplaceAll(q.Brief, "{}", words)
	}
	return words
}

// wholeQuestion asks which of some readings is the device's.
func wholeQuestion(list []wholly, assumed map[string]string) Question {
	q := Question{Key: WholeReading, Text: "The files leave several things open. Which reading is the device's?", Assumed: NoReading}
	for _, w := range list {
		q.Options, q.Words = append(q.Options, w.word()), append(q.Words, w.says())
		if !slices.ContainsFunc(w.parts, func(p part) bool { return assumed[p.key] != p.value }) && q.Assumed == NoReading {
			q.Assumed = w.word()
		}
	}
	q.Options, q.Words = append(q.Options, NoReading), append(q.Words, "none of these: ask one by one")
	return q
}

// whole puts all open questions into one where that can be.
func (d *draft) whole(t *sample.Table, device string) {
	if _, asked := d.answers[WholeReading]; asked || len(d.questions) == 0 {
		return
	}
	list := d.readings(func(answers map[string]string) (*draft, error) { return drafted(t.Copy(), device, answers, d.judge) })
	if list == nil {
		return
	}
	assumed := map[string]string{}
	for _, q := range d.questions {
		assumed[q.Key] = q.Assumed
	}
	d.questions = []Question{wholeQuestion(list, assumed)}
}
