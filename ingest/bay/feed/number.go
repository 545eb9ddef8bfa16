package feed

import (
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"fairlead/ingest/contract/unit"
)

// numberStyle says how a device writes numbers.
type numberStyle struct {
	decimal   rune // '.' or ','
	thousands rune // 0: none
	negative  string
}

// How a negative number may stand beside the usual way.
const (
	negativeParentheses = "parentheses" // (3.2)
	negativeBehind      = "behind"      // 3.2-
)

// signed writes a negative number in the usual way.
func (s numberStyle) signed(text string) string {
	switch s.negative {
	case negativeParentheses:
		if inner, ok := strings.CutPrefix(text, "("); ok {
			if at := strings.IndexByte(inner, ')'); at > 0 {
				return "-" + strings.TrimSpace(inner[:at]) + inner[at+1:]
			}
		}
	case negativeBehind:
		at := numberEnd(text, s)
		for _, minus := range []string{"-", "−"} {
			if rest, ok := strings.CutPrefix(text[at:], minus); ok && at > 0 {
				return "-" + text[:at] + rest
			}
		}
	}
	return text
}

var (
	errNotNumber = errors.New("not a number")
	errNoSide    = errors.New("says no side")
	errTwoSigns  = errors.New("has both a sign and a side")
	errUnit      = errors.New("has a unit that is not known here")
	errTarget    = errors.New("is a bearing, and the target line's is not known")
	errHuge      = errors.New("not a finite number")
	errGroups    = errors.New("has its thousands signs in the wrong places")
)

// value reads a cell as the field's value in its stored unit: side marks, the
// number, a unit in the cell. The text is trimmed and not a missing marker.
func (f *fieldMap) value(text string, style numberStyle) (float64, error) {
	negative, marked := false, false
	if f.positive != nil {
		text, negative, marked = f.takeSide(text)
	}
	if style.negative != "" {
		text = style.signed(text)
	}
	switch f.info.Quantity {
	case unit.Length:
		text = feetAndInches(text)
	case unit.Angle:
		text = DegreesAndMinutes(text)
	}
	end := numberEnd(text, style)
	number, err := style.parse(text[:end])
	if err != nil {
		return 0, err
	}
	conv := f.conv
	if rest := strings.TrimSpace(text[end:]); rest != "" {
		if conv, err = unit.Lookup(f.info.Quantity, rest); err != nil {
			return 0, errUnit
		}
	}
	if f.positive != nil {
		switch {
		case marked && math.Signbit(number) && number != 0:
			return 0, errTwoSigns
		case !marked && number != 0:
			return 0, errNoSide
		}
	}
	v := conv.To(number*f.scale + f.offset)
	if f.bearing {
		v = f.turned(v)
	}
	if negative != f.invert {
		v = -v
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, errHuge
	}
	if v == 0 {
		v = 0 // never -0
	}
	return v, nil
}

var footInch = regexp.MustCompile(`^([-+−]?)(\d+)\s*(?:'|′|ft\.?|feet)\s*(\d+(?:[.,]\d+)?)\s*(?:"|″|''|in\.?|inches)?$`)

// feetAndInches turns 12' 7" into inches; any other text stays.
func feetAndInches(text string) string {
	if !strings.ContainsAny(text, "'′f") {
		return text
	}
	m := footInch.FindStringSubmatch(text)
	if m == nil {
		return text
	}
	feet, _ := strconv.ParseFloat(m[2], 64)
	inches, err := strconv.ParseFloat(strings.ReplaceAll(m[3], ",", "."), 64)
	if err != nil || inches >= 12 {
		return text
	}
	return strings.ReplaceAll(m[1], "−", "-") + strconv.FormatFloat(12*feet+inches, 'f', -1, 64) + " in"
}

var degreeMinute = regexp.MustCompile(`^([-+−]?)(\d+)\s*[°º]\s*(\d+(?:[.,]\d+)?)\s*['′](?:\s*(\d+(?:[.,]\d+)?)\s*(?:"|″|''))?$`)

// DegreesAndMinutes turns 12°18' and 12°18'36" into degrees; any other text stays.
func DegreesAndMinutes(text string) string {
	if !strings.ContainsAny(text, "'′") {
		return text
	}
	m := degreeMinute.FindStringSubmatch(text)
	if m == nil {
		return text
	}
	part := func(s string) float64 {
		v, _ := strconv.ParseFloat(strings.ReplaceAll(s, ",", "."), 64) // "" is 0: the pattern takes digits alone
		return v
	}
	if part(m[3]) >= 60 || part(m[4]) >= 60 {
		return text
	}
	degrees := part(m[2]) + part(m[3])/60 + part(m[4])/3600
	return strings.ReplaceAll(m[1], "−", "-") + strconv.FormatFloat(degrees, 'f', -1, 64) + " deg"
}

// takeSide cuts a side's mark from the front or the back of a cell. A letter
// beside the mark makes it part of a word (the t of "ft"), not a side.
func (f *fieldMap) takeSide(text string) (rest string, negative, found bool) {
	for i, marks := range [][]string{f.positive, f.negative} {
		for _, mark := range marks {
			if len(text) < len(mark) {
				continue
			}
			head, rest := text[:len(mark)], text[len(mark):]
			if next, _ := utf8.DecodeRuneInString(rest); strings.EqualFold(head, mark) && !unicode.IsLetter(next) {
				return strings.TrimSpace(rest), i == 1, true
			}
			rest, tail := text[:len(text)-len(mark)], text[len(text)-len(mark):]
			if last, _ := utf8.DecodeLastRuneInString(rest); strings.EqualFold(tail, mark) && !unicode.IsLetter(last) {
				return strings.TrimSpace(rest), i == 1, true
			}
		}
	}
	return text, false, false
}

// numberEnd returns where the number at the front of a cell ends.
func numberEnd(text string, style numberStyle) int {
	end := 0
	for i, r := range text {
		switch {
		case r >= '0' && r <= '9', r == '.', r == ',', r == '\'':
		case (r == '+' || r == '-' || r == '−') && (i == 0 || isExponent(text, i-1)):
		case (r == 'e' || r == 'E') && i > 0 && i+1 < len(text) && strings.ContainsRune("+-0123456789", rune(text[i+1])):
		case style.thousands == ' ' && unicode.IsSpace(r):
			continue // counts only when a digit follows
		default:
			return end
		}
		end = i + len(string(r))
	}
	return end
}

func isExponent(text string, i int) bool { return i > 0 && (text[i] == 'e' || text[i] == 'E') }

// parse reads a bare number. Only digits, one sign, the decimal sign, thousands
// and an exponent are taken; words such as inf and nan are not numbers.
func (s numberStyle) parse(text string) (float64, error) {
	if s.decimal == '.' && s.thousands == 0 && !strings.ContainsAny(text, ",'−") && text != "" {
		return finite(text)
	}
	var b strings.Builder
	grouped, digits := false, 0 // digits since the last thousands sign
	for _, r := range text {
		isGroup := s.thousands != 0 && (r == s.thousands || s.thousands == ' ' && unicode.IsSpace(r))
		switch {
		case isGroup && (digits == 0 || digits > 3 || grouped && digits != 3 || strings.ContainsRune(b.String(), '.')):
			return 0, errGroups
		case isGroup:
			grouped, digits = true, 0
		case r == s.decimal || r == 'e' || r == 'E':
			if grouped && digits != 3 {
				return 0, errGroups
			}
			grouped = false
			b.WriteRune(map[bool]rune{true: '.', false: r}[r == s.decimal])
		case r == '−':
			b.WriteByte('-')
		case r == '.' || r == ',' || r == '\'':
			return 0, errNotNumber
		default:
			if r >= '0' && r <= '9' {
				digits++
			}
			b.WriteRune(r)
		}
	}
	if grouped && digits != 3 {
		return 0, errGroups // 155.4 where a point stands between thousands: not 1554
	}
	return finite(b.String())
}

// finite is strconv.ParseFloat without its words, hexadecimals and infinities.
func finite(text string) (float64, error) {
	digit := false
	for i := 0; i < len(text); i++ {
		c := text[i]
		if c >= '0' && c <= '9' {
			digit = true
		} else if c != '+' && c != '-' && c != '.' && c != 'e' && c != 'E' {
			return 0, errNotNumber
		}
	}
	if !digit {
		return 0, errNotNumber
	}
	v, err := strconv.ParseFloat(text, 64)
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, errHuge
	case err != nil:
		return 0, errNotNumber
	}
	return v, nil
}
