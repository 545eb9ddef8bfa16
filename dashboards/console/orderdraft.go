package console

import (
	"fmt"
	"net/url"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// draftView is an order before it is placed.
type draftView struct {
	Bay, Verdict, Player, Category, Hit, Key string
	Build                                    string
	In                                       url.Values
	Columns                                  []string
	Rows                                     []draftRow
	Faults                                   []fault
	Missing                                  []string
	Filled                                   string
	Rules                                    []bench.Reminder
	RulesAsOf                                string
	Problem                                  problem
}

type draftRow struct {
	Name   string
	Anchor bool
	Cells  []draftCell
}

type draftCell struct {
	Name, Label, Value, Typed, Origin, Why, Unsure string
	Wrong                                          bool
}

func (s *server) draftView(d visit.Draft, faults []*event.Fault, in url.Values) draftView {
	v := draftView{Verdict: in.Get("verdict"), Category: d.Category, Hit: d.Hit, In: in, RulesAsOf: bench.RulesAsOf,
		Build: d.Verdict.GetBuild().GetName()}
	for _, bay := range s.bays {
		if session := s.writer.Timeline(bay).Session(d.Session); session != nil {
			v.Player = s.people.Name(session.Player)
		}
	}
	wrong := map[string]bool{}
	for _, f := range faults {
		v.Faults = append(v.Faults, fault{f.Field, f.Value, f.Reason, f.Hint})
		wrong[f.Field] = true
	}
	for _, p := range d.Plan.Missing {
		v.Missing = append(v.Missing, strings.ReplaceAll(string(p), "_", " "))
	}
	v.Filled = strings.ReplaceAll(string(d.Plan.Filled), "_", " ")
	for _, p := range bench.Parts() {
		info, _ := event.BuildFieldNamed(string(p))
		v.Columns = append(v.Columns, info.Label)
	}
	for _, row := range d.Plan.Rows {
		out := draftRow{Name: row.Name, Anchor: row.Anchor}
		for _, p := range bench.Parts() {
			info, _ := event.BuildFieldNamed(string(p))
			c := draftCell{Name: "fix." + row.Name + "." + string(p), Label: info.Label, Typed: in.Get("fix." + row.Name + "." + string(p)),
				Wrong: wrong[row.Name+"."+string(p)]}
			if f, ok := row.Figures[p]; ok {
				c.Value, c.Origin, c.Why = s.figure(info, f.Number), string(f.Origin), f.Why
				if f.Unsure > 0 {
					c.Unsure = fmt.Sprintf("± %.1f, tolerance ± %.1f", f.Unsure, club.DefaultTolerances()[club.SpecSwingWeight])
				}
			}
			out.Cells = append(out.Cells, c)
		}
		v.Rows = append(v.Rows, out)
	}
	v.Rules = bench.Conformity(d.Plan.Rows, -1)
	return v
}
