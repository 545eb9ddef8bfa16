package visit

import (
	"strconv"
	"strings"

	"fairlead/ingest/contract/event"
)

var _ = kind(Kind{
	Name: "feel_noted", Bears: OnPages, Keeps: []string{"trial"},
	Acts: []Act{{
		Name: "feel", Short: "Note what the player felt of a trial", Example: "feel --bay north t-0f3a --liking 1 'lighter'",
		Fields: []Field{
			{Name: "trial", Arg: 1, Help: "trial"},
			{Name: "words", Arg: 2, Rest: true, Optional: true, Help: "what the player felt"},
			{Name: "liking", Help: "-2 dislikes much to 2 likes much"},
			{Name: "felt", Choices: []string{"better", "same", "worse"}, Help: "better, same or worse than the club before, in a word"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			f := &event.FeelNoted{Trial: r.Text("trial"), Words: r.Text("words"), Liking: r.liking()}
			switch felt := r.Text("felt"); felt {
			case "":
			case "better", "same", "worse":
				f.Liking = map[string]int32{"better": 1, "worse": -1}[felt]
				f.Words = strings.TrimSuffix(felt+", "+f.Words, ", ")
			default:
				r.Bad("felt", felt, "not known", "use better, same or worse")
			}
			ev.Body = &event.VisitEvent_FeelNoted{FeelNoted: f}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		f := ev.GetFeelNoted()
		c.ID("trial", f.GetTrial(), false)
		c.Text("words", f.GetWords(), event.LongestText)
		if f.GetLiking() < -2 || f.GetLiking() > 2 {
			c.Add("liking", f.GetLiking(), "outside -2 to 2", "-2 is dislikes much, 2 is likes much")
		}
		if f.GetWords() == "" && f.GetLiking() == 0 {
			c.Add("words", "", "missing", "say what the player felt, or how much they like it")
		}
	},
	step: func(f *folder, ev *event.VisitEvent) { f.running[ev] = f.now.Trial },
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		felt := ev.GetFeelNoted()
		if t := f.trialOf(ev, felt.GetTrial()); t != nil {
			t.Feels = append(t.Feels, Feel{ev.Id, ev.EffectiveUnixNs, felt.GetWords(), felt.GetLiking()})
		}
	},
	trial: func(ev *event.VisitEvent) string { return ev.GetFeelNoted().GetTrial() },
	says: func(t *Teller, ev *event.VisitEvent) string {
		return "feel of " + t.trial(ev.GetFeelNoted().GetTrial()) + " noted"
	},
})

// liking reads how much the player likes a club; left out it is 0, not said.
func (r *Reader) liking() int32 {
	text := r.Text("liking")
	if text == "" {
		return 0
	}
	n, err := strconv.ParseInt(text, 10, 32)
	if err != nil || n < -2 || n > 2 {
		r.Bad("liking", text, "is no liking", "write a whole number from -2, dislikes it much, to 2, likes it much; 0 says nothing")
		return 0
	}
	return int32(n)
}
