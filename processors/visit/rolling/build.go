package rolling

import (
	"encoding/binary"
	"fmt"
	"hash/maphash"
	"math"
	"slices"
	"sync"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/visit"
)

// Build computes the finished state of a snapshot.
func Build(s Snapshot) State {
	b := NewBuilder()
	state := b.Build(s)
	for b.Refine() {
	}
	if state.Pending > 0 {
		state = b.Build(s)
	}
	return state
}

// Builder computes the states of one bay one after another and remembers what
// it worked out: a new shot changes one row, and most statements stay. It may
// be used concurrently.
type Builder struct {
	mu      sync.Mutex
	seed    maphash.Seed
	light   map[uint64]*Trial  // numbers of a row, by its contents
	deep    map[uint64]*Deep   // by the row's contents
	reports map[uint64]weighed // by the contents of both sides and the prior
	// What was last known of a row or club, shown until the new is worked out.
	lastDeep   map[string]*Deep
	lastReport map[string]weighed
	// pending is work put off: what takes long, and then, under the lock, the
	// remembering of it.
	pending []func() (remember func())
	turn    int
	used    map[uint64]int // turn in which something remembered was last used
}

// NewBuilder makes a builder that remembers nothing yet.
func NewBuilder() *Builder {
	return &Builder{seed: maphash.MakeSeed(), light: map[uint64]*Trial{}, deep: map[uint64]*Deep{}, reports: map[uint64]weighed{},
		lastDeep: map[string]*Deep{}, lastReport: map[string]weighed{}, used: map[uint64]int{}}
}

// Refine works out one statement that the last Build left pending, and says
// whether there are more. A Build meanwhile does not wait for it.
func (b *Builder) Refine() bool {
	b.mu.Lock()
	if len(b.pending) == 0 {
		b.mu.Unlock()
		return false
	}
	work := b.pending[0]
	b.pending = b.pending[1:]
	b.mu.Unlock()
	remember := work()
	b.mu.Lock()
	defer b.mu.Unlock()
	remember()
	return len(b.pending) > 0
}

// Build computes the state of a snapshot with what is remembered; State.Pending
// counts what Refine still has to work out.
func (b *Builder) Build(s Snapshot) State {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.turn++
	b.pending = nil
	out := State{Studio: s.Studio, Bay: s.Bay, At: s.At, Trials: []Trial{}, Comparisons: []Comparison{}, Shots: []ShotRow{},
		Loose: []ShotRow{}}
	out.Sensors, out.Alarms = s.Sensors, s.Alarms
	if s.Timeline == nil {
		return out
	}
	out.Events = s.Timeline.Events
	span := s.Timeline.Now()
	out.Setting = settingOf(span.Setting())
	for i := range s.Loose {
		out.Loose = append(out.Loose, shotRow(&s.Loose[i], ""))
	}
	for i := range s.Open {
		out.Open = append(out.Open, question(s.Timeline, &s.Open[i]))
	}
	out.LastSeen = lastSeen(&s)
	session := s.Timeline.Session(s.Session)
	if session == nil {
		return out
	}
	for _, o := range s.Timeline.Oddities {
		if o.At >= session.From {
			out.Oddities = append(out.Oddities, Oddity{o.Event, o.At, o.Text})
		}
	}
	out.Session = sessionOf(session)
	if span.Session == session {
		out.Now = nowOf(span)
	}
	all := rows(&s, session)
	b.trials(&out, &s, session, all)
	b.compare(&out, session, all)
	out.Suspicion = suspect(glossary.Category(session.Category), all, span.Trial)
	out.Pending = len(b.pending)
	b.forget()
	return out
}

// trials fills the rows and the shots.
func (b *Builder) trials(out *State, s *Snapshot, session *visit.Session, all []*row) {
	category := glossary.Category(session.Category)
	aim := dispersion.Aim{}
	if d := s.Timeline.Now().Setting().TargetDistance; d.Known && d.Value > 0 {
		aim.Carry = d.Value
	}
	base := incumbent(clubsOf(all))
	span := s.Timeline.Now()
	listed := s.Shots
	if s.List > 0 && len(listed) > s.List {
		out.Earlier = len(listed) - s.List
		listed = listed[out.Earlier:]
	}
	names := make(map[*Shot]string, len(listed)) // shot -> row
	for _, r := range all {
		key := r.key.String()
		h := b.hash(r, category, aim)
		t := *b.numbers(h, r, category, aim)
		t.Key, t.ID, t.Number, t.Part, t.Parts = key, r.trial.ID, r.trial.Number, r.key.part, len(r.trial.Parts)
		t.Club, t.Name, t.Gamer = r.club, nameOf(r), r.trial.Build.GetGamer()
		t.Running = span.Trial == r.trial && r == lastOf(all, r.trial)
		t.Class, t.ClassLength, t.Intent = className(r.key.class), r.key.length, intentName(r.key.intent)
		if i := r.key.part - 1; i >= 0 && i < len(r.trial.Parts) {
			t.Instruction, t.Why = r.trial.Parts[i].Instruction, visit.WhyText(r.trial.Parts[i].Choice)
		}
		t.Build, t.Changes = specsOf(r.trial.Build), []Change{}
		if base != nil && r.club != base.number {
			t.Against, t.Changes = base.rows[0].key.String(), Changes(base.rows[0].trial.Build, r.trial.Build)
		}
		for _, f := range r.trial.Feels {
			t.Feels = append(t.Feels, Feel{f.Event, f.Words, f.Liking})
		}
		if category != glossary.Putter && t.Landing >= dispersion.MinSpread {
			t.Deep = b.deepOf(h, key, r, category, aim)
		}
		if t.Running {
			out.Now.Row = key
		}
		out.Session.N += t.N
		out.Trials = append(out.Trials, t)
		for _, shot := range r.shots[max(0, len(r.shots)-len(listed)):] {
			names[shot] = key
		}
	}
	if base != nil {
		out.Incumbent = base.rows[0].key.String()
	}
	for i := range listed {
		out.Shots = append(out.Shots, shotRow(&listed[i], names[&listed[i]]))
	}
}

// lastOf is the last row of a trial, the one that is being hit.
func lastOf(all []*row, t *visit.Trial) (last *row) {
	for _, r := range all {
		if r.trial == t {
			last = r
		}
	}
	return last
}

func (b *Builder) numbers(h uint64, r *row, category glossary.Category, aim dispersion.Aim) *Trial {
	b.used[h] = b.turn
	if t := b.light[h]; t != nil {
		return t
	}
	t := &Trial{}
	r.stats(t, category, aim)
	b.light[h] = t
	return t
}

// deepOf is what takes longer of a row: what is remembered, else of the row's
// earlier shots, with the work put off.
func (b *Builder) deepOf(h uint64, key string, r *row, category glossary.Category, aim dispersion.Aim) *Deep {
	if d := b.deep[h]; d != nil {
		b.lastDeep[key] = d
		return d
	}
	b.pending = append(b.pending, func() func() {
		d := deepen(r, category, aim)
		return func() { b.deep[h] = d }
	})
	return b.lastDeep[key]
}

func deepen(r *row, category glossary.Category, aim dispersion.Aim) *Deep {
	points, of := landingPoints(r.counting())
	d := &Deep{N: len(points), Misses: []Miss{}}
	s, err := dispersion.Summarise(category, points, aim)
	if err != nil {
		return d
	}
	d.WorstTenth = Stat(s.WorstTenth.Distance)
	for _, m := range s.Misses {
		d.Misses = append(d.Misses, Miss{string(m.Miss.Side), m.Miss.Beyond, Stat(m.Odds), m.Hits})
	}
	for _, q := range s.Suspects {
		d.Suspects = append(d.Suspects, Suspect{of[q.Index].Key.ID.String(), of[q.Index].Tag.OrderInSession, q.Reason})
	}
	return d
}

// compare weighs every other club against the incumbent.
func (b *Builder) compare(out *State, session *visit.Session, all []*row) {
	category := glossary.Category(session.Category)
	clubs := clubsOf(all)
	base := incumbent(clubs)
	if base == nil {
		return
	}
	var candidates []evidence.Candidate
	var reports []weighed
	paired, named := map[rowKey]bool{}, map[string]*club{}
	for _, c := range clubs {
		if c == base {
			continue
		}
		one := Comparison{Club: c.number, Name: c.name, Against: base.number, AgainstOf: base.name, Pair: pairOf(session, base, c)}
		pairs, why := toCompare(base, c)
		if why != "" {
			one.Rows, one.Outcomes, one.Blocked = []string{}, []Weighed{}, why
			out.Comparisons = append(out.Comparisons, one)
		}
		for _, p := range pairs {
			cmp := one
			cmp.Rows, cmp.Outcomes = []string{}, []Weighed{}
			name := c.name
			if p.class != event.ShotClass_CLASS_FULL {
				cmp.Class, cmp.Length = className(p.class), p.length
				name = fmt.Sprintf("%s, %s", c.name, cmp.Swing())
			} else {
				p.taken = session.Priors[one.Pair] // the fleet's word is of full swings
			}
			for _, r := range p.candidate {
				cmp.Rows = append(cmp.Rows, r.key.String())
			}
			for _, r := range slices.Concat(p.baseline, p.candidate) {
				paired[r.key] = true
			}
			report, fresh, ok := b.report(session.ID, category, c, p)
			cmp.Computing, cmp.Stale = !ok, ok && !fresh
			if ok {
				cmp.fill(report)
				reports = append(reports, report)
				candidates = append(candidates, evidence.Candidate{Name: name, Report: report.Report, LastShot: c.lastShot()})
				named[name] = c
			}
			out.Comparisons = append(out.Comparisons, cmp)
		}
	}
	for n, x := range ballsOf(clubs) {
		cmp := Comparison{Club: x.club.number, Against: x.club.number, Name: x.ball + " ball", AgainstOf: x.was + " with " + x.club.name,
			Ball: x.ball, BallWas: x.was, RowWas: x.baseline[0].key.String(), Rows: []string{}, Outcomes: []Weighed{}}
		if x.class != event.ShotClass_CLASS_FULL {
			cmp.Class, cmp.Length = className(x.class), x.length
		}
		for _, r := range x.candidate {
			cmp.Rows = append(cmp.Rows, r.key.String())
		}
		for _, r := range slices.Concat(x.baseline, x.candidate) {
			paired[r.key] = true
		}
		report, fresh, ok := b.report(session.ID, category, &club{number: -1 - n, name: cmp.Name}, x.pair)
		cmp.Computing, cmp.Stale = !ok, ok && !fresh
		if ok {
			cmp.fill(report)
			reports = append(reports, report)
		}
		out.Comparisons = append(out.Comparisons, cmp)
	}
	holdTogether(out.Comparisons, out.Session != nil && out.Session.Category == string(glossary.Putter))
	tellCompared(out, all, reports, paired)
	if session.Open() && len(candidates) > 0 {
		plan := evidence.Next(category, base.name, candidates, 0)
		out.Next = &Plan{Blocks: []Block{}, Done: plan.Done}
		for _, k := range plan.Blocks {
			out.Next.Blocks = append(out.Next.Blocks, Block{k.Build, k.Shots, k.Why})
		}
		for _, l := range plan.Lots {
			c := named[l.Build]
			if i := slices.IndexFunc(out.Next.Lots, func(o Lot) bool { return o.Club == c.number }); i >= 0 { // by another kind of swing
				out.Next.Lots[i].Chance += l.Chance
				continue
			}
			out.Next.Lots = append(out.Next.Lots, Lot{c.latest(), c.number, c.name, l.Worth, l.Chance})
		}
		if len(out.Next.Lots) == 1 {
			out.Next.Lots = nil
		}
	}
}

// weighed is a report with the prior that it was made with.
type weighed struct {
	evidence.Report
	taken *event.PriorTaken // nil: the weak default
	rows  map[rowKey]*Compared
}

func (b *Builder) report(session string, category glossary.Category, c *club, p pair) (r weighed, fresh, ok bool) {
	h := b.hashAll(append(append([]*row(nil), p.baseline...), p.candidate...), category, uint64(len(p.baseline)), hashPrior(p.taken)...)
	b.used[h] = b.turn
	name := fmt.Sprintf("%s/%s/%d/%d/%g", session, c.name, c.number, p.class, p.length)
	if r, ok := b.reports[h]; ok {
		b.lastReport[name] = r
		return r, true, true
	}
	b.pending = append(b.pending, func() func() {
		report, err := evidence.Compare(category, evidenceOf(p.baseline), evidenceOf(p.candidate),
			evidence.Options{Priors: priorsOf(category, p.taken), Wander: wandersOf(category, p.taken)})
		if err != nil {
			report = evidence.Report{Category: category, Doubts: []string{"can't be weighed: " + err.Error()}}
		}
		w := weighed{Report: report, taken: p.taken}
		w.rows = comparedRows(category, p, w)
		return func() { b.reports[h] = w }
	})
	r, ok = b.lastReport[name]
	return r, false, ok
}

// hash of all that a row's numbers depend on.
func (b *Builder) hash(r *row, category glossary.Category, aim dispersion.Aim) uint64 {
	return b.hashAll([]*row{r}, category, math.Float64bits(aim.Carry))
}

func (b *Builder) hashAll(rows []*row, category glossary.Category, more uint64, further ...uint64) uint64 {
	var h maphash.Hash
	h.SetSeed(b.seed)
	var word [8]byte
	put := func(x uint64) {
		binary.LittleEndian.PutUint64(word[:], x)
		h.Write(word[:])
	}
	h.WriteString(string(category))
	put(more)
	for _, x := range further {
		put(x)
	}
	for _, r := range rows {
		put(uint64(len(r.shots)))
		put(uint64(r.key.class)<<32 | uint64(r.key.intent))
		for _, s := range r.shots {
			h.Write(s.Key.ID[:])
			put(uint64(s.Tag.Status)<<32 | uint64(s.Tag.OrderInSession))
			put(uint64(s.Tag.Instructions))
			put(s.Values.Has)
			for _, x := range s.Values.V {
				put(math.Float64bits(x))
			}
			if o := s.Values.Ours; o.HasFlight {
				put(math.Float64bits(o.Carry))
				put(math.Float64bits(o.Offline))
				put(math.Float64bits(o.LandingAngle))
			}
		}
	}
	return h.Sum64()
}

// forget drops what was not used for some turns.
func (b *Builder) forget() {
	const keep = 16
	for h, turn := range b.used {
		if b.turn-turn > keep {
			delete(b.used, h)
			delete(b.light, h)
			delete(b.deep, h)
			delete(b.reports, h)
		}
	}
	if len(b.lastDeep)+len(b.lastReport) > 4096 {
		clear(b.lastDeep)
		clear(b.lastReport)
	}
}
