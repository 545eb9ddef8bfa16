// Package cell writes texts into tables that people open in spreadsheets.
package cell

import (
	"strconv"
	"strings"
)

// Harmless is a text as it may stand in a CSV: what a spreadsheet would run as a
// formula gets an apostrophe before it, by which spreadsheets know a text. Numbers
// stay as they are, signs and all.
func Harmless(text string) string {
	if text == "" || !strings.ContainsRune("=+-@\t\r\n", rune(text[0])) && !strings.HasPrefix(text, "＝") && !strings.HasPrefix(text, "＋") &&
		!strings.HasPrefix(text, "－") && !strings.HasPrefix(text, "＠") {
		return text
	}
	if _, err := strconv.ParseFloat(text, 64); err == nil {
		return text
	}
	return "'" + text
}

// Row makes each text of a row harmless. The row is changed.
func Row(row []string) []string {
	for i, text := range row {
		row[i] = Harmless(text)
	}
	return row
}
