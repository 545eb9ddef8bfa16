package stock

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// cell is what a cell says, with blanks of all kinds as blanks and letters in one
// form: what looks alike on paper is one word. A leading apostrophe that keeps a
// spreadsheet from taking words for a formula is none of them.
func cell(text string) (words string, kept bool) {
	words = strings.Map(func(c rune) rune {
		if unicode.Is(unicode.Zs, c) {
			return ' '
		}
		return c
	}, norm.NFC.String(text))
	words = strings.TrimSpace(words)
	if len(words) > 1 && words[0] == '\'' && strings.ContainsAny(words[1:2], "=+-@") {
		return words[1:], true
	}
	return words, false
}

// spoilt says what a table, or how it was saved, has made of a cell, and what to try.
// None of it can be read as what was meant, and all of it could be taken for words.
func spoilt(words string, kept bool) (reason, try string) {
	for _, c := range words {
		switch {
		case c == unicode.ReplacementChar:
			return "holds a sign that was lost when it was saved", "write it again, and save the list as CSV, encoded as UTF-8"
		case c == '\n' || c == '\r' || c == '\u2028':
			return "goes over several lines", "write it in one: a quotation mark may be missing, or a cell be broken"
		case unicode.Is(unicode.Cf, c) || unicode.IsControl(c):
			return fmt.Sprintf("holds a sign that nobody sees (U+%04X)", c), "write the cell anew"
		}
	}
	switch {
	case misread.MatchString(words):
		return "holds letters that were read in one encoding and saved in another", "open the list again as UTF-8, and save it so"
	case strings.HasPrefix(words, "=") && !kept:
		return "is a formula", "put its value there: copy the column and paste it as values"
	case failed.MatchString(words):
		return "is what a table writes where it cannot calculate or show", "put the value there, or leave the cell empty"
	case slices.Contains(nothing, strings.ToLower(words)):
		return "stands for nothing", "leave cells empty that are not known"
	case quotedAll(words):
		return "stands in quotation marks", "write it without them"
	case dated.MatchString(words):
		return "is a date, perhaps one that a table made of it", "format the column as text, and write it again"
	}
	return "", ""
}

// nothing are words by which people mean an empty cell.
var nothing = []string{"-", "--", "---", "–", "—", "?", "??", "???", ".", "/", "n/a", "n.a.", "null", "nan", "nil", "tbd", "tbc", "tba"}

var (
	// misread are letters of two bytes of which each was taken for one.
	misread = regexp.MustCompile(`[ÂÃÄÅ][\x{80}-\x{BF}€‚ƒ„…†‡ˆ‰Š‹Œ‘’“”•–—˜™š›œ]|â€`)
	failed  = regexp.MustCompile(`^#+$|^#[A-Za-zÄÖÜäöü/0-9]+[!?]$|^#(N/A|NV|N/D)$`)
	dated   = regexp.MustCompile(`(?i)^(\d{1,2}[. /-]+(` + monthWords + `)[a-zäé]*\.?([. /-]+\d{2,4})?|(` + monthWords + `)[a-zäé]*\.?[. /-]+\d{2,4}` +
		`|\d{4}-\d{2}-\d{2}([ T].*)?|\d{1,2}[./]\d{1,2}[./]\d{2,4}( .*)?)$`)
)

// monthWords begin the names of months, as tables write them in some languages.
const monthWords = "jan|feb|fév|mar|mär|mrz|apr|avr|mai|may|mag|jun|juin|jul|juil|aug|aoû|ago|sep|set|oct|okt|ott|out|nov|dec|dez|déc|" +
	"dic|gen|ene|fev|abr|maj"

// quotedAll says that a cell begins and ends with marks of quotation.
func quotedAll(words string) bool {
	const marks = "\"'“”„‟«»‘’‚`"
	all := []rune(words)
	return len(all) > 1 && strings.ContainsRune(marks, all[0]) && strings.ContainsRune(marks, all[len(all)-1])
}
