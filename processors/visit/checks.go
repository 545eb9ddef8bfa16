package visit

import (
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
)

// Checks are the hit checks of a whole studio: a club is often collected in
// another bay than it was fitted in. The zero value knows none. It is not safe
// for concurrent use.
type Checks struct {
	logs  map[string]*Log // by bay; of each event no more than what an erasure leaves
	known int
}

// Add takes an event of any bay, and says whether it may have changed what is
// checked. Events that say nothing of other bays are passed over.
func (c *Checks) Add(ev *event.VisitEvent) bool {
	if k := KindOf(ev); k == nil || !k.Abroad {
		return false
	}
	if c.logs == nil {
		c.logs = map[string]*Log{}
	}
	l := c.logs[ev.Bay]
	if l == nil {
		l = &Log{}
		c.logs[ev.Bay] = l
	}
	if !l.Add(Erase(ev)) {
		return false
	}
	c.known++
	return true
}

// Abroad is the number of distinct facts known of other bays than the one
// named. It grows with every such fact and depends on nothing else.
func (c *Checks) Abroad(bay string) int {
	n := c.known
	if l := c.logs[bay]; l != nil {
		n -= l.Len()
	}
	return n
}

// Trials gives of each verdict that a live hit check names the trial of the
// last one.
func (c *Checks) Trials() map[string]string {
	out := map[string]string{}
	for _, ev := range c.live() {
		out[ev.GetHitChecked().GetVerdict()] = ev.GetHitChecked().GetTrial()
	}
	return out
}

func (c *Checks) live() (all []*event.VisitEvent) {
	for _, l := range c.logs {
		for _, ev := range l.Events() {
			if ev.GetHitChecked() != nil {
				all = append(all, ev)
			}
		}
	}
	slices.SortFunc(all, Compare)
	return all
}

// Live lists the hit checks of a verdict that were not taken back, in order.
// Of each it holds what an erasure leaves; ids and bays lead to the rest.
func (c *Checks) Live(verdict string) (out []*event.VisitEvent) {
	for _, ev := range c.live() {
		if ev.GetHitChecked().GetVerdict() == verdict {
			out = append(out, ev)
		}
	}
	return out
}

// Judged is a verdict as the facts of its bay and of the studio's hit checks
// give it.
type Judged struct {
	Event, Visit, Session string
	At                    int64
	Player, Category      string
	Given                 *event.VerdictGiven
	CheckTrial            string // empty: not checked
	Live                  bool   // false: it was taken back, or its session erased
}

// Verdicts lists the verdicts of a session, or of all for "", those that were
// taken back too.
func Verdicts(l *Log, session string, checked map[string]string) (out []Judged) {
	tl := l.Timeline()
	live := map[string]bool{}
	for _, s := range tl.Sessions {
		if session != "" && s.ID != session {
			continue
		}
		for _, v := range s.Verdicts {
			live[v.Event] = true
			out = append(out, Judged{Event: v.Event, Visit: s.Visit, Session: s.ID, At: v.At, Player: s.Player, Category: s.Category,
				Given: v.Given, CheckTrial: checked[v.Event], Live: true})
			if last := &out[len(out)-1]; last.CheckTrial == "" { // entered for the bay that the session was in first
				if at := strings.LastIndexByte(v.Event, ':'); at > 0 {
					last.CheckTrial = checked[v.Event[:at]]
				}
			}
		}
	}
	for _, ev := range l.All() {
		if g := ev.GetVerdictGiven(); g != nil && (session == "" || ev.Session == session) && !live[ev.Id] {
			s := tl.Session(ev.Session)
			if s == nil {
				continue
			}
			if s.Erased {
				g = &event.VerdictGiven{Kind: g.GetKind()}
			}
			out = append(out, Judged{Event: ev.Id, Visit: ev.Visit, Session: ev.Session, At: ev.EffectiveUnixNs, Given: g})
		}
	}
	return out
}
