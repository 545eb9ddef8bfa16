package stock

import (
	"testing"

	"google.golang.org/protobuf/proto"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"

	"fairlead/ingest/contract/event"
)

func part(code string, k event.PartKind, category, club, model string, price int64) *event.CataloguePart {
	return &event.CataloguePart{Code: code, Kind: k, Category: category, Club: club, Price: price, Currency: "EUR", Least: 2,
		Specs: []*event.Spec{{Field: Model(k), Text: model}}}
}

func listed() *event.PartsListed {
	return &event.PartsListed{Parts: []*event.CataloguePart{
		part("SK2-6", event.PartKind_PART_HEAD, "iron", "6i", "Skerry 2", 9500),
		part("SK2-7", event.PartKind_PART_HEAD, "iron", "7i", "Skerry 2", 9500),
		part("RD95-S", event.PartKind_PART_SHAFT, "iron", "", "Reed 95", 4200),
		part("RD95-R", event.PartKind_PART_SHAFT, "iron", "", "Reed 95", 4200),
		part("QC", event.PartKind_PART_GRIP, "", "", "Quay cord", 950), part("W", event.PartKind_PART_WORK, "iron", "", "assembly", 1800)}}
}

func ordered(name, flex string) *event.OrderedClub {
	b := &event.Build{Specs: []*event.Spec{{Field: event.BuildField_BUILD_HEAD_MODEL, Text: "skerry 2"},
		{Field: event.BuildField_BUILD_SHAFT_MODEL, Text: "Reed 95"}, {Field: event.BuildField_BUILD_GRIP_MODEL, Text: "Quay cord"}}}
	if flex != "" {
		b.Specs = append(b.Specs, &event.Spec{Field: event.BuildField_BUILD_FLEX, Text: flex})
	}
	return &event.OrderedClub{Name: name, Category: "iron", Build: b}
}

func TestAnOrderTakesWhatFits(t *testing.T) {
	l := listed()
	for code, flex := range map[int]string{2: "S", 3: "R"} {
		l.Parts[code].Specs = append(l.Parts[code].Specs, &event.Spec{Field: event.BuildField_BUILD_FLEX, Text: flex})
	}
	s := NewShelf([]Said{{At: 1, Listed: l}}, nil)
	n := s.Needs(ordered("7i", "S"), nil)
	if got := codes(n.Parts()); got != "SK2-7 RD95-S QC W" {
		t.Errorf("takes %s", got)
	}
	// Without a flex two shafts fit: nothing is guessed, and what is chosen is taken.
	n = s.Needs(ordered("7i", ""), nil)
	if got := codes(n.Parts()); got != "SK2-7 QC W" || len(n.Kinds[1].Choice) != 2 {
		t.Errorf("takes %s of %v", got, n.Kinds[1].Choice)
	}
	n = s.Needs(ordered("7i", ""), map[event.PartKind]string{event.PartKind_PART_SHAFT: "RD95-R", event.PartKind_PART_GRIP: "-"})
	if got := codes(n.Parts()); got != "SK2-7 RD95-R W" {
		t.Errorf("takes %s", got)
	}
	// The catalogue has no head of a 9-iron; a club that is only altered takes work alone.
	if n = s.Needs(ordered("9i", "S"), nil); !n.Kinds[0].Lacks {
		t.Error("it does not say that there is no head")
	}
	own := ordered("7i", "S")
	own.Own = true
	if got := codes(s.Needs(own, nil).Parts()); got != "W" {
		t.Errorf("an altered club takes %s", got)
	}
}

func codes(parts []*event.OrderedPart) (out string) {
	for _, p := range parts {
		if out != "" {
			out += " "
		}
		out += p.GetCode()
	}
	return out
}

func TestLevels(t *testing.T) {
	count := func(at int64, reason event.StockReason, n int64) Said {
		return Said{At: at, Count: &event.StockCounted{Part: "SK2-7", Reason: reason, Pieces: n}}
	}
	said := []Said{{At: 1, Listed: listed()}, count(9, event.StockReason_STOCK_RECEIVED, 3), count(5, event.StockReason_STOCK_COUNTED, 4),
		count(2, event.StockReason_STOCK_RECEIVED, 100)}
	seven := []*event.OrderedPart{{Code: "SK2-7", Club: "7i"}}
	uses := []Use{{Order: "before the count", Parts: seven, Begun: true, At: 3}, {Order: "after", Parts: seven, Begun: true, At: 7},
		{Order: "waits", Parts: seven, At: 8}}
	s := NewShelf(said, uses)
	if l := s.Level("SK2-7"); l.On != 6 || l.Held != 1 || l.Free() != 5 || l.Short() {
		t.Errorf("%+v", l)
	}
	s = NewShelf(append(said, count(10, event.StockReason_STOCK_SCRAPPED, 5)), uses)
	if l := s.Level("SK2-7"); l.Free() != 0 || !l.Short() || len(s.RunsOut()) != 1 {
		t.Errorf("%+v, %v", l, s.RunsOut())
	}
	gone := proto.Clone(listed().Parts[1]).(*event.CataloguePart)
	gone.Gone = true
	s = NewShelf(append(said, Said{At: 11, Listed: &event.PartsListed{Parts: []*event.CataloguePart{gone}}}), nil)
	if s.Part("SK2-7") != nil || s.Ever("SK2-7") == nil || len(s.Parts()) != 5 {
		t.Error("a part that is not sold any more is offered")
	}
}

// A quote is the sum of its lines, whatever an order takes; prices of two
// currencies are no sum.
func TestAQuoteIsItsLines(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		o := &event.OrderPlaced{Clubs: []*event.OrderedClub{{Name: "6i"}, {Name: "7i"}, {Name: "none"}}}
		var sum, unpriced int64
		for range rapid.IntRange(1, 30).Draw(t, "parts") {
			p := &event.OrderedPart{Code: rapid.SampledFrom([]string{"A", "B", "C"}).Draw(t, "code"), Currency: "EUR",
				Price: rapid.SampledFrom([]int64{0, 1, 950, 9500}).Draw(t, "price"), Club: rapid.SampledFrom([]string{"6i", "7i"}).Draw(t, "club")}
			sum += p.Price
			if p.Price == 0 {
				unpriced++
			}
			o.Parts = append(o.Parts, p)
		}
		q, ok := QuoteOf(o)
		var lines, pieces int64
		for _, l := range q.Lines {
			lines += l.Sum()
			pieces += l.Pieces
		}
		if q.Total != sum || lines != sum || pieces != int64(len(o.Parts)) || q.Unpriced != unpriced || ok != (sum > 0) {
			t.Fatalf("%+v, %v", q, ok)
		}
		o.Parts = append(o.Parts, &event.OrderedPart{Code: "D", Price: 1, Currency: "GBP"})
		if q, ok := QuoteOf(o); ok && sum > 0 || q.Total != 0 && sum > 0 {
			t.Fatalf("two currencies: %+v", q)
		}
	})
}
