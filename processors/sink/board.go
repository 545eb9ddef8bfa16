package sink

import (
	"cmp"
	"slices"
	"strings"

	"fairlead/ingest/event"
	"fairlead/processors/shot"
	"fairlead/processors/store"
	"fairlead/processors/tag"
	"fairlead/processors/trial"
	"fairlead/processors/visit"
)

// board is what a worker knows of the entries it holds: their tags, and which
// sessions have to be computed again.
type board struct {
	tags     map[tag.Key]tag.Tag
	sessions map[string]map[tag.Key]struct{}            // session -> its entries
	rows     map[string]map[store.TrialKey]trialWritten // session -> rows as last written
	values   map[tag.Key]*valued
}

// trialWritten is a trial's row as last given to the store, to write only what changed.
type trialWritten struct {
	row   store.TrialRow
	empty bool
}

func newBoard() *board {
	return &board{tags: map[tag.Key]tag.Tag{}, sessions: map[string]map[tag.Key]struct{}{}, rows: map[string]map[store.TrialKey]trialWritten{}, values: map[tag.Key]*valued{}}
}

// apply takes changes and returns the sessions that they touch, and how many
// tags say something else than before.
func (b *board) apply(changes []tag.Change) (touched map[string]bool, revised int) {
	touched = map[string]bool{}
	for _, c := range changes {
		if old, ok := b.tags[c.Key]; ok && !old.Same(&c.Tag) {
			revised++
		}
		if old, ok := b.tags[c.Key]; ok && old.Session != "" {
			touched[old.Session] = true
			delete(b.sessions[old.Session], c.Key)
		}
		b.tags[c.Key] = c.Tag
		if s := c.Tag.Session; s != "" {
			touched[s] = true
			if b.sessions[s] == nil {
				b.sessions[s] = map[tag.Key]struct{}{}
			}
			b.sessions[s][c.Key] = struct{}{}
		}
	}
	return touched, revised
}

// forget drops what the tagger no longer holds.
func (b *board) forget(holds func(tag.Key) bool) (dropped []tag.Key) {
	for k, t := range b.tags {
		if holds(k) {
			continue
		}
		dropped = append(dropped, k)
		delete(b.tags, k)
		delete(b.values, k)
		if t.Session != "" {
			delete(b.sessions[t.Session], k)
			if len(b.sessions[t.Session]) == 0 {
				delete(b.sessions, t.Session)
				delete(b.rows, t.Session)
			}
		}
	}
	return dropped
}

// inOrder lists a session's entries that have a place in its order.
func (b *board) inOrder(session string) []tag.Key {
	keys := make([]tag.Key, 0, len(b.sessions[session]))
	for k := range b.sessions[session] {
		if b.tags[k].Status.Ordered() {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(x, y tag.Key) int {
		return cmp.Or(cmp.Compare(b.tags[x].OrderInSession, b.tags[y].OrderInSession),
			strings.Compare(x.Journal, y.Journal), cmp.Compare(x.Seq, y.Seq))
	})
	return keys
}

// part names a part of a trial.
type part struct {
	trial string
	part  int
}

// trialRows computes the rows of a session from its shots.
func trialRows(place placeNames, tl *visit.Timeline, session string, keys []tag.Key, tags map[tag.Key]tag.Tag, values func(tag.Key) (shot.Values, *event.Entry)) []store.TrialRow {
	var order []part
	shots := map[part][]trial.Shot{}
	first := map[part]tag.Tag{}
	for _, k := range keys {
		t := tags[k]
		if t.Trial == "" {
			continue
		}
		p := part{t.Trial, t.Part}
		v, e := values(k)
		if _, ok := shots[p]; !ok {
			order = append(order, p)
			first[p] = t
		} else if first[p].Status != tag.Counts && t.Status == tag.Counts {
			first[p] = t // a row speaks of its first shot that counts
		}
		shots[p] = append(shots[p], trial.Shot{
			Values: v, Counts: t.Status == tag.Counts, Excluded: t.Status == tag.Excluded,
			Effective: t.At, Order: t.OrderInSession, Device: e.GetDevice(), Firmware: e.GetFirmware(),
		})
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
