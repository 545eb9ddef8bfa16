package sink

import (
	"cmp"
	"slices"
	"strings"

	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
	"fairlead/processors/visit/tag"
	"fairlead/processors/visit/trial"
)

// board is what a worker knows of its sessions: their entries, and their rows
// as last written.
type board struct {
	sessions map[string][]*card
	rows     map[string]map[store.TrialKey]trialWritten
}

// trialWritten is a trial's row as last given to the store, to write only what changed.
type trialWritten struct {
	row   store.TrialRow
	empty bool
}

func newBoard() *board {
	return &board{sessions: map[string][]*card{}, rows: map[string]map[store.TrialKey]trialWritten{}}
}

// apply gives cards new tags, changes[i] to cards[i]. It adds the sessions that
// they touch and returns how many tags say something else than before.
func (b *board) apply(cards []*card, changes []tag.Change, touched map[string]bool) (revised int) {
	last := "" // touched already
	touch := func(session string) {
		if session != last {
			touched[session] = true
			last = session
		}
	}
	for i, c := range cards {
		t := changes[i].Tag
		if c.tag != nil && !c.tag.Same(t) {
			revised++
		}
		if c.tag != nil && c.tag.Session != "" {
			touch(c.tag.Session)
		}
		if t.Session != "" {
			touch(t.Session)
		}
		if c.tag == nil || c.tag.Session != t.Session {
			b.takeOut(c)
			if t.Session != "" {
				c.place = len(b.sessions[t.Session])
				b.sessions[t.Session] = append(b.sessions[t.Session], c)
			}
		}
		c.tag = t
	}
	return revised
}

// takeOut takes a card out of its session.
func (b *board) takeOut(c *card) {
	if c.tag == nil || c.tag.Session == "" {
		return
	}
	cards := b.sessions[c.tag.Session]
	end := cards[len(cards)-1]
	cards[c.place], end.place = end, c.place
	cards[len(cards)-1] = nil
	b.sessions[c.tag.Session] = cards[:len(cards)-1]
}

// forget drops a card that the tagger no longer holds.
func (b *board) forget(c *card) {
	if c.tag == nil || c.tag.Session == "" {
		return
	}
	b.takeOut(c)
	if len(b.sessions[c.tag.Session]) == 0 {
		delete(b.sessions, c.tag.Session)
		delete(b.rows, c.tag.Session)
	}
}

// inOrder lists a session's cards that have a place in its order.
func (b *board) inOrder(session string) []*card {
	cards := make([]*card, 0, len(b.sessions[session]))
	for _, c := range b.sessions[session] {
		if c.tag.Status.Ordered() {
			cards = append(cards, c)
		}
	}
	slices.SortFunc(cards, func(x, y *card) int {
		return cmp.Or(cmp.Compare(x.tag.OrderInSession, y.tag.OrderInSession),
			strings.Compare(x.key.Journal, y.key.Journal), cmp.Compare(x.key.Seq, y.key.Seq))
	})
	return cards
}

// part names a part of a trial.
type part struct {
	trial string
	part  int
}

// trialRows computes the rows of a session from its shots.
func trialRows(place placeNames, tl *visit.Timeline, session string, cards []*card) []store.TrialRow {
	var order []part
	shots := map[part][]trial.Shot{}
	first := map[part]*tag.Tag{}
	for len(cards) > 0 { // shots of a part mostly follow one another
		in := cards[0].tag
		n := 1
		for n < len(cards) && cards[n].tag.Trial == in.Trial && cards[n].tag.Part == in.Part {
			n++
		}
		run := cards[:n]
		cards = cards[n:]
		if in.Trial == "" {
			continue
		}
		p := part{in.Trial, in.Part}
		if first[p] == nil {
			order = append(order, p)
			first[p] = in
		}
		if first[p].Status != tag.Counts { // a row speaks of its first shot that counts
			if i := slices.IndexFunc(run, func(c *card) bool { return c.tag.Status == tag.Counts }); i >= 0 {
				first[p] = run[i].tag
			}
		}
		list := slices.Grow(shots[p], n)
		for _, c := range run {
			t := c.tag
			list = append(list, trial.Shot{
				Values: c.values, Counts: t.Status == tag.Counts, Excluded: t.Status == tag.Excluded,
				Effective: t.At, Order: t.OrderInSession, Device: c.device, Firmware: c.firmware,
			})
		}
		shots[p] = list
	}
	rows := make([]store.TrialRow, 0, len(order))
	var circumstances []trial.Circumstance
	for _, p := range order {
		t := first[p]
		row := store.TrialRow{
			Studio: place.studio, Bay: place.bay, Visit: t.Visit, Session: session, Trial: p.trial, Part: p.part,
			Player: t.Player, Fitter: t.Fitter, Hand: t.Hand, Category: t.Category, Consent: t.Consent, Minor: t.Minor,
			Class: t.Class, ClassLength: t.ClassLength, Intent: t.Intent, Setting: t.Setting,
			Instruction: t.Instruction, Instructions: t.Instructions, Kind: t.InstructionKind,
			Number: t.TrialNumber, Row: trial.Compute(shots[p]),
		}
		if known := tl.Trial(p.trial); known != nil {
			row.Build = known.Build
			if p.part <= len(known.Parts) {
				row.Choice = known.Parts[p.part-1].Choice
			}
		}
		rows = append(rows, row)
		circumstances = append(circumstances, trial.Circumstance{
			Device: row.Row.Device, Firmware: row.Row.Firmware, Setting: row.Setting.ID(), Instructions: row.Instructions,
			Intent: int32(row.Intent), Class: int32(row.Class), ClassLength: row.ClassLength,
		})
	}
	for i, level := range trial.Levels(circumstances) {
		rows[i].Level = level
	}
	return rows
}

type placeNames struct{ studio, bay string }
