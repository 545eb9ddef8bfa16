package guess

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// write writes the map.
func (d *draft) write() string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# Drafted from %s: read it through before it goes to work.", strings.Join(d.t.Names[:min(3, len(d.t.Names))], ", "))
	for _, q := range d.questions {
		line("# QUESTION %s: %s Assumed: %s.", q.Key, strings.ReplaceAll(q.Text, "\n", " "), q.Assumed)
	}
	line("map: 1\ndevice: %s\nrole: %s\nformat: %s", d.device, d.roleText(), nonEmpty(d.t.Holder, d.t.Format))
	d.writeHolder(line)
	if d.t.Records != "" {
		line("records: %s", strconv.Quote(d.t.Records))
	}
	if d.t.Encoding != "" {
		line("encoding: %s", d.t.Encoding)
	}
	if len(d.t.Comments) > 0 {
		line("comment: %s", quotedList(d.t.Comments))
	}
	if missing := d.missing(); len(missing) > 0 {
		line("missing: %s", quotedList(missing))
	}
	d.writeLayout(line)
	if len(d.t.SkipLines)+len(d.skips) > 0 {
		line("skip_rows:  # rows that speak of other rows, or are none")
		for _, r := range d.skips {
			line("  - {column: %s, matches: %s}", d.name(d.columnNamed(r.column)), strconv.Quote(r.pattern))
		}
		for _, p := range d.t.SkipLines {
			line("  - {line: %s}", strconv.Quote(p))
		}
	}
	if len(d.t.KeepLines) > 0 {
		line("keep_rows:")
		for _, p := range d.t.KeepLines {
			line("  - {line: %s}", strconv.Quote(p))
		}
	}
	d.writeNumbers(line)
	d.writeDrawn(line)
	d.writeIdentity(line)
	line("fields:")
	for _, f := range d.fields {
		line("  %s: %s  # %s: %s", f.Name, d.fieldText(f), f.Sure, f.Why)
	}
	for _, c := range d.cols {
		if c.field == "" && !d.uses(c) {
			why := map[bool]string{true: " (sizes: no column says the side)"}[c.other == "size"]
			line("# not used: %s%s", strings.ReplaceAll(c.Name, "\n", " "), why)
		}
	}
	return b.String()
}

func (d *draft) writeLayout(line func(string, ...any)) {
	if d.t.Format == "keys" && (d.t.Separator != "=" || d.t.Between != "") && d.t.Records == "" {
		line("keys: {separator: %s, between: %s}", strconv.Quote(d.t.Separator), strconv.Quote(d.t.Between))
	}
	if d.t.Format == "keys" && d.t.Records != "" && d.t.Separator != ":" {
		line("keys: {separator: %s, between: \"\\n\"}", strconv.Quote(d.t.Separator))
	}
	if d.t.Format != "csv" {
		return
	}
	var parts []string
	if d.t.Holder != "" { // cells are cells there
	} else if d.t.Widths != nil {
		parts = append(parts, "widths: "+strings.ReplaceAll(fmt.Sprint(d.t.Widths), " ", ", "))
	} else {
		parts = append(parts, "delimiter: "+strconv.Quote(d.t.Delimiter))
	}
	if !d.t.Header {
		parts = append(parts, "header: false", fmt.Sprintf("cells: %d", len(d.t.Columns)))
	}
	if d.t.Skip > 0 {
		parts = append(parts, fmt.Sprintf("skip: %d", d.t.Skip))
	}
	if d.t.Transposed {
		parts = append(parts, "transposed: true")
	}
	if l := d.t.Long; l != nil {
		text := fmt.Sprintf("name: %q, value: %q", l.Name, l.Value)
		if l.Unit != "" {
			text += fmt.Sprintf(", unit: %q", l.Unit)
		}
		parts = append(parts, "long: {"+text+"}")
	}
	if d.t.UnitsRow {
		parts = append(parts, "units: true")
	}
	if d.t.Multiline {
		parts = append(parts, "multiline: true")
	}
	if len(parts) > 0 {
		line("csv: {%s}", strings.Join(parts, ", "))
	}
}

// writeHolder writes which sheet or table is meant.
func (d *draft) writeHolder(line func(string, ...any)) {
	switch {
	case d.t.Part == "":
	case d.t.Holder == "xlsx":
		line("workbook: {sheet: %s}", strconv.Quote(d.t.Part))
	case d.t.Holder == "sqlite":
		line("database: {table: %s}", strconv.Quote(d.t.Part))
	}
}

func nonEmpty(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func (d *draft) writeNumbers(line func(string, ...any)) {
	if d.style.decimal == '.' && d.style.thousands == 0 && d.style.negative == "" {
		return
	}
	text := fmt.Sprintf("decimal: %q", string(d.style.decimal))
	if d.style.thousands != 0 {
		sign := string(d.style.thousands)
		if sign == " " {
			sign = "space"
		} else if sign == "’" {
			sign = "'"
		}
		text += fmt.Sprintf(", thousands: %q", sign)
	}
	if d.style.negative != "" {
		text += ", negative: " + d.style.negative
	}
	line("numbers: {%s}", text)
}

func (d *draft) writeIdentity(line func(string, ...any)) {
	if d.at != nil {
		var names []string
		for _, c := range d.at.columns {
			names = append(names, d.name(c))
		}
		text := fmt.Sprintf("columns: [%s], layouts: [%s]", strings.Join(names, ", "), strconv.Quote(d.at.layouts[0]))
		if d.at.zone != "" {
			text += ", zone: " + d.at.zone
		}
		if d.at.fileDate != "" {
			text += ", date_from_file: " + strconv.Quote(d.at.fileDate)
		}
		note := ""
		if d.at.zone == "local" {
			note = "  # the zone of the bay's PC; name another if the device keeps its own"
		}
		line("time: {%s}%s", text, note)
	}
	switch {
	case d.id != nil:
		var names []string
		for _, c := range d.id {
			names = append(names, d.name(c))
		}
		scope := ""
		if d.scope != "" {
			scope = ", scope: " + d.scope
		}
		line("shot_id: {columns: [%s]%s}", strings.Join(names, ", "), scope)
	case d.scope != "":
		line("shot_id: {scope: %s}  # no number and no clock: equal lines of two files are two shots", d.scope)
	}
	if d.revision != nil {
		line("revision: {column: %s}", d.name(d.revision))
	}
	if d.deleted != nil {
		line("deleted: {column: %s, values: %s}", d.name(d.deleted), quotedList(d.deletes))
	}
	if d.club != nil {
		line("device_club: {column: %s}", d.name(d.club))
	}
}

func (d *draft) fieldText(f *Field) string {
	parts := []string{"column: " + d.name(f.col)}
	if f.col.first != "" {
		parts = append(parts, "pattern: "+strconv.Quote(f.col.first))
	}
	if f.col.parts != 0 {
		parts = append(parts, "scale: "+strconv.FormatFloat(1/f.col.parts, 'f', -1, 64))
	}
	if f.Unit != "" {
		parts = append(parts, "unit: "+strconv.Quote(f.Unit))
	}
	if f.col.mixed {
		parts = append(parts, "unit_column: "+d.name(d.columnNamed(f.col.unitOf)))
	}
	if f.Round {
		parts = append(parts, "bearing: 0")
	}
	if f.Sign != "" {
		parts = append(parts, "sign: "+f.Sign)
	}
	if f.Invert {
		parts = append(parts, "invert: true")
	}
	if f.sided != nil {
		parts = append(parts, fmt.Sprintf("side: {column: %s, positive: %s, negative: %s}", d.name(f.sided), quotedList(f.Positive),
			quotedList(f.Negative)))
	} else if f.Positive != nil {
		parts = append(parts, fmt.Sprintf("letters: {positive: %s, negative: %s}", quotedList(f.Positive), quotedList(f.Negative)))
	}
	if len(f.Missing) > 0 {
		parts = append(parts, "missing: "+quotedList(f.Missing))
	}
	if f.Zero {
		parts = append(parts, "zero: missing")
	}
	if d.sparse(f) {
		parts = append(parts, "optional: true")
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

// sparse says whether a key is absent from some records.
func (d *draft) sparse(f *Field) bool {
	return d.t.Format != "csv" && len(f.col.texts) < d.t.Rows
}

// name is how a map names a column: by its number where the name would not do.
func (d *draft) name(c *column) string {
	if d.t.Format == "csv" && !d.drawn(c.Name) {
		same := 0
		for _, other := range d.t.Columns {
			if strings.EqualFold(other.Name, c.Name) {
				same++
			}
		}
		if _, err := strconv.Atoi(c.Name); err == nil || same > 1 || c.Name == "" || strings.Contains(c.Name, "\n") {
			return strconv.Itoa(c.index)
		}
	}
	return strconv.Quote(c.Name)
}

// missing are the texts that say 'not measured', of all columns that are used.
func (d *draft) missing() (out []string) {
	for _, f := range d.fields {
		for _, m := range f.col.missing {
			if !slices.Contains(out, m) && len(m) < 24 {
				out = append(out, m)
			}
		}
	}
	slices.Sort(out)
	return out
}

func quotedList(list []string) string {
	var out []string
	for _, s := range list {
		out = append(out, strconv.Quote(s))
	}
	return "[" + strings.Join(out, ", ") + "]"
}
