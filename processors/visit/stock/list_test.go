package stock

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

const head = "code,kind,category,club,model,loft,weight,flex,price,currency,pieces\n"

// one is a list of a good head but for one cell.
func one(column, says string) string {
	names := strings.Split(strings.TrimSpace(head), ",")
	row := strings.Split("A,head,iron,7i,Skerry 2,33,272 g,,95.00,EUR,6", ",")
	row[slices.Index(names, column)] = says
	return head + strings.Join(row, ",") + "\n"
}

// What is wrong with a price list is said where it is, with what to try.
func TestBrokenListsNameEachFault(t *testing.T) {
	for _, c := range []struct {
		name, text string
		line       int
		column     string
		says       string
	}{
		{"empty", "", 0, "", "is empty"},
		{"only blanks", " \n\n", 0, "", "is empty"},
		{"only a header", head, 0, "", "lists no part"},
		{"a workbook", "PK\x03\x04\x00\x00sheet", 0, "", "no text"},
		{"not UTF-8", head + "A,head,,,Skerry\xe9,,,,,,\n", 2, "", "no UTF-8"},
		{"no code column", "kind,model\nhead,Skerry 2\n", 1, "code", "is missing"},
		{"no kind column", "code,model\nA,Skerry 2\n", 1, "kind", "is missing"},
		{"unknown column", "code,kind,model,colour\nA,head,Skerry 2,red\n", 1, "colour", "no column"},
		{"a column twice", "code,kind,model,model\nA,head,Skerry 2,Skerry 2\n", 1, "model", "twice"},
		{"a column without a name", "code,kind,,model\nA,head,,Skerry 2\n", 1, "", "has no name"},
		{"a cell too many", head + "A,head,iron,7i,Skerry 2,33,272 g,,95.00,EUR,6,7\n", 2, "", "has 12 cells, the header 11"},
		{"a cell too few", head + "A,head,iron,7i,Skerry 2\n", 2, "", "has 5 cells"},
		{"an open quotation mark", head + "A,head,iron,7i,\"Skerry 2,33,272 g,,95.00,EUR,6\n", 2, "", "quotation mark"},
		{"no code", head + ",head,iron,7i,Skerry 2,33,272 g,,95.00,EUR,6\n", 2, "code", "missing"},
		{"a code with blanks", head + "SK 2,head,iron,7i,Skerry 2,33,272 g,,95.00,EUR,6\n", 2, "code", "not an id"},
		{"a code twice", head + "A,head,iron,6i,Skerry 2,29,,,,,\nA,head,iron,7i,Skerry 2,33,,,,,\n", 3, "code", "stands in line 2 too"},
		{"unknown kind", head + "A,ferrule,,,Skerry 2,,,,,,\n", 2, "kind", "is no kind of part"},
		{"unknown category", head + "A,head,chipper,,Skerry 2,,,,,,\n", 2, "category", "is no kind of club"},
		{"unknown club", head + "A,head,iron,17i,Skerry 2,,,,,,\n", 2, "club", "is no club of a set"},
		{"no model", head + "A,head,iron,7i,,33,,,,,\n", 2, "model", "missing"},
		{"a loft in words", head + "A,head,iron,7i,Skerry 2,strong,,,,,\n", 2, "loft", "can't be read"},
		{"a loft that can't be", head + "A,head,iron,7i,Skerry 2,330,,,,,\n", 2, "loft", ""},
		{"a weight in yards", head + "A,head,iron,7i,Skerry 2,33,272 yd,,,,\n", 2, "weight", "can't be read"},
		{"a weight of a car", head + "A,head,iron,7i,Skerry 2,33,272 kg,,,,\n", 2, "weight", "more or less"},
		{"a change", head + "A,head,iron,7i,Skerry 2,33,+2 g,,,,\n", 2, "weight", ""},
		{"a flex of a grip", head + "A,grip,,,Quay cord,,50 g,S,,,\n", 2, "flex", "nothing that a grip has"},
		{"a weight of work", head + "A,work,,,assembly,,50 g,,,,\n", 2, "weight", "nothing that a work has"},
		{"a price in words", head + "A,head,iron,7i,Skerry 2,33,,,ask,EUR,\n", 2, "price", "is no price"},
		{"a price with three places", head + "A,head,iron,7i,Skerry 2,33,,,95.005,EUR,\n", 2, "price", "is no price"},
		{"a price below nothing", head + "A,head,iron,7i,Skerry 2,33,,,-95,EUR,\n", 2, "price", "is no price"},
		{"no currency", head + "A,head,iron,7i,Skerry 2,33,,,95.00,,\n", 2, "currency", "without its currency"},
		{"a sign of a currency", head + "A,head,iron,7i,Skerry 2,33,,,95.00,€,\n", 2, "currency", "is no currency"},
		{"two currencies", head + "A,head,,,Skerry 2,,,,95.00,EUR,\nB,head,,,Skerry 3,,,,95.00,GBP,\n", 3, "currency", "another one"},
		{"half a piece", head + "A,head,iron,7i,Skerry 2,33,,,,,1.5\n", 2, "pieces", "is no number of pieces"},
		{"pieces below nothing", head + "A,head,iron,7i,Skerry 2,33,,,,,-1\n", 2, "pieces", "is no number of pieces"},
		{"neither yes nor no", "code,kind,model,gone\nA,head,Skerry 2,maybe\n", 2, "gone", "neither yes nor no"},
		{"a head bent too far", "code,kind,model,bend_limit\nA,head,Skerry 2,30\n", 2, "bend_limit", ""},
		{"a bend limit of a grip", "code,kind,model,bend_limit\nA,grip,Quay cord,2\n", 2, "metal", "of what is no head"},
		{"a wide tolerance", "code,kind,model,tolerance_weight\nA,head,Skerry 2,60 g\n", 2, "tolerance_weight", "more or less"},
		{"a tolerance of a grip's loft", "code,kind,model,tolerance_loft\nA,grip,Quay cord,1\n", 2, "tolerance_loft", "nothing that a grip has"},
		{"control characters", "code,kind,model\nA,head,Sk\x01erry\n", 2, "model", "nobody sees"},
		{"a long model", "code,kind,model\nA,head," + strings.Repeat("x", 300) + "\n", 2, "model", "longer than"},
		{"a formula", one("model", "=B2&C2"), 2, "model", "is a formula"},
		{"what a formula failed at", one("price", "#REF!"), 2, "price", "cannot calculate"},
		{"a column too narrow", one("weight", "#####"), 2, "weight", "cannot calculate"},
		{"a word for nothing", one("model", "n/a"), 2, "model", "stands for nothing"},
		{"a sign that was lost", one("model", "Sk\ufffdrry"), 2, "model", "was lost"},
		{"saved in another encoding", one("model", "StÃ¶r"), 2, "model", "one encoding"},
		{"a blank of no width", one("model", "Sker\u200bry"), 2, "model", "U+200B"},
		{"a cell of two lines", one("model", "\"Skerry\n2\""), 2, "model", "several lines"},
		{"quotation marks of print", one("model", "“Skerry 2”"), 2, "model", "in quotation marks"},
		{"a code made a date", one("code", "05-Mär"), 2, "code", "is a date"},
		{"a club made a date", one("club", "05. Jul 26"), 2, "club", "is a date"},
		{"a price that is a date", head + "A,head,iron,6i,S,,,,95.00,EUR,\nB,head,iron,7i,S,,,,46027,EUR,\n", 3, "price", "(5 January 2026)"},
		{"thousands", one("price", "\"1,200\""), 2, "price", "is no price"},
		{"two lofts", one("loft", "9/10"), 2, "loft", "two figures"},
		{"two units", one("weight", "272 g / 9.6 oz"), 2, "weight", "two figures"},
		{"merged cells", one("category", ""), 2, "category", "missing for a head of one club"},
		{"a club of another kind", one("category", "driver"), 2, "category", "is not what 7i is"},
		{"a code twice but for capitals", head + "A,head,,,S,,,,,,\na,head,,,S,,,,,,\n", 3, "code", "stands in line 2 too"},
		{"units in the header", "code,kind,model,weight (g)\nA,head,S,272\n", 1, "weight_(g)", "is no column"},
		{"a title above", "Price list 2026,,\ncode,kind,model\nA,head,S\n", 1, "", "begins no header"},
		{"lines in quotation marks", "\"code,kind,model\"\n\"A,head,S\"\n", 1, "", "is one cell"},
		{"another separator below", "code;kind;model\nA,head,S\n", 2, "", "has 1 cells"},
		{"a page", "<table><tr><td>code</td></tr></table>", 0, "", "is no table"},
		{"a program's file", "[{\"code\": \"A\"}]", 0, "", "is no table"},
		{"half of UTF-16", "\xff\xfec\x00o", 0, "", "breaks off"},
		{"an inch as a mark", "code,kind,model,raw_length\nA,shaft,R,46\"\n", 2, "", "quotation mark"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := Read(strings.NewReader(c.text))
			if len(l.Faults) == 0 {
				t.Fatalf("nothing is wrong, it says: %+v", l.Parts)
			}
			f := l.Faults[0]
			if f.Line != c.line || f.Column != c.column || !strings.Contains(f.Reason, c.says) || f.Try == "" {
				t.Errorf("%d %s: %s; try %s (%s)", f.Line, f.Column, f.Reason, f.Try, f.Error())
			}
		})
	}
	// Of very many faults the first are told, and how many there are.
	if l := Read(strings.NewReader("code,kind" + strings.Repeat(",x", 5000) + "\n")); len(l.Faults) != mostFaults+1 ||
		!strings.Contains(l.Faults[mostFaults].Reason, "4900 more") {
		t.Errorf("%d faults, the last %+v", len(l.Faults), l.Faults[len(l.Faults)-1])
	}
	// Of a list with several faults each is named, and good rows are no fault.
	l := Read(strings.NewReader(head + "A,head,iron,7i,Skerry 2,33,272 yd,,ask,EUR,\nB,grip,,,Quay cord,,,,,,\n,shaft,,,Reed 95,,,,,,x\n"))
	if len(l.Faults) != 4 || l.Faults[0].Line != 2 || l.Faults[3].Line != 4 {
		t.Errorf("%v", l.Faults)
	}
	// And of one line all.
	l = Read(strings.NewReader(head + "A B,ferrule,chipper,17i,Skerry 2,33,,,ask,€,x\nC,head,iron,17i,Skerry 2,strong,272 yd,,95.005,€,1.5\n"))
	var columns []string
	for _, f := range l.Faults {
		columns = append(columns, fmt.Sprint(f.Line, f.Column))
	}
	if got, want := strings.Join(columns, " "), "2code 2kind 2category 2club 2currency 2price 2pieces "+
		"3loft 3weight 3club 3currency 3price 3pieces"; got != want {
		t.Errorf("%s, not %s", got, want)
	}
}

// The example of the documentation is read, with commas and with semicolons.
func TestListIsRead(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/stock/catalogue.csv")
	if err != nil {
		t.Fatal(err)
	}
	semi := strings.ReplaceAll(strings.ReplaceAll(string(text), ",", ";"), ".", ",")
	wide := strings.ReplaceAll(string(text), "\n", ",,\n")
	utf16 := []byte{0xff, 0xfe}
	for _, c := range string(text) {
		utf16 = append(utf16, byte(c), byte(c>>8))
	}
	for name, list := range map[string]string{"commas": string(text), "a mark before": "\ufeff" + string(text), "semicolons": semi,
		"a line that names the separator": "sep=;\n" + semi, "bars": strings.ReplaceAll(string(text), ",", "|"),
		"lines that end as they did once": strings.ReplaceAll(string(text), "\n", "\r"), "blank rows above": ",,,\n\n" + string(text),
		"empty columns beside": wide, "UTF-16": string(utf16), "blanks that do not break": strings.ReplaceAll(string(text), " ", "\u00a0")} {
		l := Read(strings.NewReader(list))
		if len(l.Faults) > 0 || len(l.Parts) < 15 {
			t.Errorf("%s: %d parts, %v", name, len(l.Parts), l.Faults)
			continue
		}
		p := l.Parts[2]
		if p.GetCode() != "SK2-7" || Spec(p, event.BuildField_BUILD_STATED_LOFT).GetNumber() != 33 || p.GetPrice() != 9500 ||
			Spec(p, event.BuildField_BUILD_HEAD_WEIGHT).GetNumber() != 0.272 || p.GetBendLimitDeg() != 2 || p.GetPieces() != 6 ||
			len(p.GetTolerances()) != 2 || Name(p) != "Skerry 2 7i 33°" || Price(p.GetPrice(), p.GetCurrency()) != "95.00 EUR" {
			t.Errorf("%s: %v", name, p)
		}
	}
}

// What is written out is read back as it was, and then says nothing new.
func TestAWrittenListIsReadBack(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/stock/catalogue.csv")
	if err != nil {
		t.Fatal(err)
	}
	first := Read(strings.NewReader(string(text) + "PLUS,grip,,,+2 wraps,,,,,,,,,,,,,,,\n"))
	if c := first.Against(NewShelf(nil, nil)); len(c.New) != len(first.Parts) || len(c.Parts) != len(first.Parts) {
		t.Errorf("%+v", c)
	}
	shelf := NewShelf([]Said{{At: 1, Listed: &event.PartsListed{Parts: first.Parts}}}, nil)
	var out strings.Builder
	if err := shelf.WriteList(&out); err != nil {
		t.Fatal(err)
	}
	again := Read(strings.NewReader(out.String()))
	if c := again.Against(shelf); c.Failed() || c.Same != len(first.Parts) {
		t.Errorf("%+v\n%s", c, out.String())
	}
	dearer := strings.Replace(strings.Replace(string(text), "95.00", "99.00", 1), "EUR,2,5", "EUR,2,4", 1)
	c := Read(strings.NewReader(dearer)).Against(shelf)
	if strings.Join(c.Changed, " ") != "SK2-5" || strings.Join(c.Counted, " ") != "SK2-6" {
		t.Errorf("%+v", c)
	}
}
