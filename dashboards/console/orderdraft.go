package console

import (
	"context"
	"fmt"
	"net/url"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
	"fairlead/processors/visit/stock"
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
	Set                                      bool   // clubs beside the one that was hit follow from it
	Example                                  string // how clubs are named
	Filled                                   string
	Rules                                    []bench.Reminder
	RulesAsOf                                string
	Problem                                  problem
	Takes                                    []takeRow // parts of the catalogue, a club each
	Quote                                    *quoteView
}

// takeRow is what one club takes of the catalogue.
type takeRow struct {
	Club  string
	Kinds []takeCell
}

type takeCell struct {
	Name, Kind, Code, Typed, Why string
	Choice                       []codeName
	Bad                          bool
}

// quoteView is what an order costs.
type quoteView struct {
	Lines   []quoteLine
	Total   string // empty: there is no sum
	Without []string
	Open    int64 // pieces without a price
}

type quoteLine struct {
	Code, Name, Each, Sum string
	Pieces                int64
}

func (s *server) quoteView(shelf *stock.Shelf, o *event.OrderPlaced) *quoteView {
	if len(o.GetParts()) == 0 {
		return nil
	}
	q, ok := stock.QuoteOf(o)
	v := &quoteView{Without: q.Without, Open: q.Unpriced}
	if ok {
		v.Total = stock.Price(q.Total, q.Currency)
	}
	for _, l := range q.Lines {
		line := quoteLine{Code: l.Code, Name: l.Code, Pieces: l.Pieces,
			Each: stock.Price(l.Each, l.Currency), Sum: stock.Price(l.Sum(), l.Currency)}
		if p := shelf.Ever(l.Code); p != nil {
			line.Name = stock.Name(p)
		}
		v.Lines = append(v.Lines, line)
	}
	return v
}

// takes shows what each club takes, and what it may be chosen from.
func takes(shelf *stock.Shelf, needs []stock.Needs, in url.Values) (out []takeRow) {
	for _, n := range needs {
		row := takeRow{Club: n.Club}
		for _, k := range n.Kinds {
			word := stock.KindWord(k.Kind)
			c := takeCell{Name: "take." + n.Club + "." + word, Kind: word, Typed: in.Get("take." + n.Club + "." + word)}
			for _, p := range k.Choice {
				c.Choice = append(c.Choice, codeName{p.GetCode(), stock.Name(p)})
			}
			switch {
			case k.Taken != nil:
				c.Code = k.Taken.GetCode()
				if l := shelf.Level(c.Code); k.Kind != event.PartKind_PART_WORK && (!l.Known || l.Free() < 1) {
					c.Why, c.Bad = "none is free", true
					if !l.Known {
						c.Why = "not counted"
					}
				}
			case k.Said:
				c.Why = "none"
			case k.Lacks:
				c.Why, c.Bad = "not in the catalogue", true
			case len(k.Choice) > 1:
				c.Why, c.Bad = fmt.Sprintf("%d fit: choose", len(k.Choice)), true
			default:
				c.Why = "–"
			}
			row.Kinds = append(row.Kinds, c)
		}
		out = append(out, row)
	}
	return out
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
	switch glossary.Category(d.Category) {
	case glossary.Iron:
		v.Set, v.Example = true, "5-9i pw 56"
	case glossary.Wedge:
		v.Set, v.Example = true, "50 54 58"
	default:
		v.Example = d.Hit
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
	parts := bench.PartsOf(d.Plan.Rows)
	for _, p := range parts {
		info, _ := event.BuildFieldNamed(string(p))
		v.Columns = append(v.Columns, info.Label)
	}
	for _, row := range d.Plan.Rows {
		out := draftRow{Name: row.Name, Anchor: row.Anchor}
		for _, p := range parts {
			info, _ := event.BuildFieldNamed(string(p))
			c := draftCell{Name: "fix." + row.Name + "." + string(p), Label: info.Label, Typed: in.Get("fix." + row.Name + "." + string(p)),
				Wrong: wrong[row.Name+"."+string(p)]}
			if f, ok := row.Figures[p]; ok {
				c.Value, c.Origin, c.Why = s.figure(info, f.Number), string(f.Origin), f.Why
				if f.Unsure > 0 {
					c.Unsure = fmt.Sprintf("±\u00a0%.1f, tolerance ±\u00a0%.1f", f.Unsure, club.DefaultTolerances()[club.SpecSwingWeight])
				}
			}
			out.Cells = append(out.Cells, c)
		}
		v.Rows = append(v.Rows, out)
	}
	v.Rules = bench.Conformity(d.Plan.Rows, -1)
	if shelf := s.shelf(context.Background()); len(shelf.Parts()) > 0 {
		v.Takes, v.Quote = takes(shelf, d.Needs, in), s.quoteView(shelf, d.Placed)
	}
	return v
}
