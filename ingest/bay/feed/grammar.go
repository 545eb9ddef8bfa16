package feed

import (
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// word is a key that a map may hold, as parser, schema and reference page know it.
type word struct {
	key  string
	kind string // text, texts, flag, whole, number, column, columns, pattern, or the name of a section
	says string
	one  []string // the texts that may stand there
}

// Sections of a map: which keys may stand where. The top is "".
var grammar = map[string][]word{
	"": {
		{"map", "whole", "version of this format: 1", nil},
		{"device", "text", "the device's name: a-z, 0-9 and -", nil},
		{"role", "role", "what the device describes of a hit: one word, or by what a column says", roleWords},
		{"format", "text", "how a shot is written", []string{"csv", "ndjson", "json", "xml", "keys", "text", "xlsx", "sqlite"}},
		{"encoding", "text", "how bytes stand for text; a byte order mark outranks it", encodingNames},
		{"comment", "texts", "lines that begin so are skipped", nil},
		{"missing", "texts", "cells that say: not measured; an empty one always does", nil},
		{"provenance", "text", "who the values are from, where a field says nothing else", []string{"measured", "device"}},
		{"csv", "csv", "the table, of format csv; of a workbook or a database too, as lines with commas", nil},
		{"workbook", "workbook", "of format xlsx: what is read of it; dates are written 2006-01-02 15:04:05", nil},
		{"database", "database", "of format sqlite: what is read of it; the columns are a table with a header", nil},
		{"numbers", "numbers", "how numbers are written", nil},
		{"preamble", "names", "values that stand once above the rows or between the records: a name and a pattern with one group each; used " +
			"like columns", nil},
		{"parts", "names", "values that a pattern with one group takes out of each whole line; used like columns", nil},
		{"records", "text", "json: key of the list of shots, or of the object whose keys name them (then the column @key), or @lists for an " +
			"object that has a list for each column, in a folder alone; xml: a shot's element; keys: line, blank, file, or the " +
			"text with which a shot's first line begins", nil},
		{"keys", "keys", "the signs of format keys", nil},
		{"skip_rows", "rows", "lines that are no shots", nil},
		{"keep_rows", "rows", "lines that alone are shots", nil},
		{"time", "time", "the device's clock; left out, the order of lines counts", nil},
		{"shot_id", "shot_id", "the device's own number of the shot", nil},
		{"revision", "place", "a later version of the same shot has a higher number here", nil},
		{"deleted", "deleted", "how the device withdraws a shot", nil},
		{"device_club", "said", "what the device calls the club; never taken as the build", nil},
		{"firmware", "said", "the device's version", nil},
		{"settings", "names", "further texts to keep, each with {column: NAME} or {constant: TEXT}", nil},
		{"fields", "fields", "what is measured, by the names of the contract", nil},
		{"expect", "expect", "pieces of a file, in its order, with what the map makes of them: read whenever the map is", nil},
	},
	"role": append([]word{
		{"column", "column", "the column that says it", nil},
		{"else", "text", "the role of all other texts; without it they are refused", roleWords},
	}, roleTexts()...),
	"csv": {
		{"delimiter", "text", "one character, tab, or spaces for any run of blanks; a comma when left out", nil},
		{"quote", "text", "one character, or none", nil},
		{"header", "flag", "false: columns are numbers from 1", nil},
		{"skip", "whole", "lines before the header", nil},
		{"cells", "whole", "without a header: how many cells a whole line has", nil},
		{"units", "flag", "a row of units follows each header; it is skipped", nil},
		{"widths", "wholes", "columns of fixed width, in characters, instead of a delimiter", nil},
		{"multiline", "flag", "a quoted cell may hold line ends", nil},
		{"transposed", "flag", "a column is a shot, a row a measure with its name in front; in a folder alone", nil},
		{"long", "long", "a row is one value, with its name in a column; rows of one shot follow each other; in a folder alone", nil},
	},
	"long": {
		{"name", "text", "the column that names what is measured; fields are found by these names", nil},
		{"value", "text", "the column of the values", nil},
		{"unit", "text", "the column of their units", nil},
	},
	"numbers": {
		{"decimal", "text", "the decimal sign", []string{".", ","}},
		{"negative", "text", "how negative numbers stand beside -3.2: (3.2), or 3.2-", []string{negativeParentheses, negativeBehind}},
		{"thousands", "text", "between thousands: . , ' or space; none when left out", nil},
	},
	"keys": {
		{"separator", "text", "between a key and its value", nil},
		{"between", "text", "between pairs; blanks when left out", nil},
	},
	"rows": {
		{"column", "column", "the column that is looked at", nil},
		{"matches", "pattern", "what it says, without regard to case", nil},
		{"line", "pattern", "the whole line instead", nil},
	},
	"time": {
		{"columns", "columns", "joined by one space", nil},
		{"column", "columns", "the only one", nil},
		{"layouts", "texts", "2 January 2006 15:04:05 as the device would write it; or unix, unix_ms, unix_us, unix_ns, " +
			"rfc3339; days: a spreadsheet's number of days since 1900", nil},
		{"layout", "texts", "the only one", nil},
		{"zone", "text", "local, UTC, +02:00 or a name such as Europe/London", nil},
		{"date_from_file", "text", "2 January 2006 as the file's name has it", nil},
	},
	"shot_id": {
		{"columns", "columns", "joined by /", nil},
		{"column", "columns", "the only one", nil},
		{"scope", "text", "within what the number is unique", []string{scopeDevice, scopeDay, scopeFile}},
	},
	"place":   {{"column", "column", "where it stands", nil}},
	"deleted": {{"column", "column", "where it stands", nil}, {"values", "texts", "what it says of a shot that is withdrawn", nil}},
	"said":    {{"column", "column", "where it stands", nil}, {"constant", "text", "the same for every shot", nil}},
	"field": {
		{"column", "columns", "where it stands; several are the names of several versions", nil},
		{"constant", "number", "the same for every shot, instead of a column", nil},
		{"unit", "unit", "as `fairlead feed units` lists them; a cell's own unit outranks it", nil},
		{"sign", "text", "target: right of target is positive; handed: by the player's hand", []string{"target", "handed"}},
		{"invert", "flag", "the device counts the other way round", nil},
		{"letters", "sides", "marks of the sides beside the number, such as 3.2 L", nil},
		{"side", "sides", "another column names the side", nil},
		{"provenance", "text", "measured, or computed by the device", []string{"measured", "device"}},
		{"air", "text", "distances: as the ball flew, or turned to standard air by the device", []string{"as-flown", "adjusted"}},
		{"optional", "flag", "the column may be absent from a header", nil},
		{"missing", "texts", "marks of this field alone", nil},
		{"zero", "text", "whether a zero is a value or means: not measured", []string{"missing", "value"}},
		{"scale", "number", "the number as written is multiplied with it", nil},
		{"offset", "number", "and this is added", nil},
		{"pattern", "pattern", "what of the cell is the value: one group", nil},
		{"unit_column", "column", "the unit stands in another column", nil},
		{"bearing", "bearing", "a compass bearing: the target line's, in degrees or {column: NAME}", nil},
	},
	"sides": {
		{"column", "column", "of side alone", nil},
		{"positive", "texts", "marks of the positive side", nil},
		{"negative", "texts", "marks of the negative side", nil},
	},
	"workbook": {
		{"sheet", "text", "the sheet's name, or a pattern (*, ?) for several, one after the other; the first that is shown when left out", nil},
	},
	"database": {
		{"table", "text", "a table or view; left out, the one that has the map's columns", nil},
		{"query", "text", "one SELECT in its place, such as one that joins tables", nil},
	},
	"expect": {
		{"lines", "text", "of the device's file", nil},
		{"shot", "names", "values of the one shot: fields with their unit, none for not measured; device_time, shot_id, role, device_club, " +
			"deleted, revision", nil},
		{"refused", "pattern", "the line is refused, and why", nil},
		{"nothing", "flag", "the lines make no shot and no reject", nil},
	},
}

func roleTexts() (out []word) {
	for _, r := range roleWords {
		out = append(out, word{r, "texts", "what the column says of a " + r, nil})
	}
	return out
}

// allowed lists the keys of a section.
func allowed(section string) (out []string) {
	for _, w := range grammar[section] {
		out = append(out, w.key)
	}
	return out
}

// Schema describes a map for editors, as JSON Schema (draft 2020-12).
func Schema() map[string]any {
	fields := map[string]any{}
	for _, info := range event.Fields() {
		s := section("field")
		units := append(unit.Names(info.Quantity), unit.Spellings(info.Quantity)...)
		slices.Sort(units)
		s["properties"].(map[string]any)["unit"] = map[string]any{"enum": slices.Compact(units)}
		s["description"] = "a " + string(info.Quantity)
		fields[info.Name] = s
	}
	top := section("")
	top["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	top["title"] = "Fairlead field map"
	top["required"] = []string{"map", "device", "role", "format", "fields"}
	top["properties"].(map[string]any)["fields"] = map[string]any{"type": "object", "properties": fields, "additionalProperties": false}
	return top
}

func section(name string) map[string]any {
	properties := map[string]any{}
	for _, w := range grammar[name] {
		s := w.schema()
		s["description"] = w.says
		properties[w.key] = s
	}
	return map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
}

// schema is what may stand at a key. Where a text may be bare in YAML, a number
// is taken too.
func (w word) schema() map[string]any {
	text := map[string]any{"type": []string{"string", "number"}}
	if w.one != nil {
		text = map[string]any{"enum": w.one}
	}
	list := func(of map[string]any) map[string]any {
		return map[string]any{"anyOf": []any{of, map[string]any{"type": "array", "items": of}}}
	}
	switch w.kind {
	case "flag":
		return map[string]any{"type": "boolean"}
	case "whole":
		return map[string]any{"type": "integer"}
	case "wholes":
		return list(map[string]any{"type": "integer"})
	case "number":
		return map[string]any{"type": "number"}
	case "names", "fields":
		return map[string]any{"type": "object"}
	case "texts":
		return list(map[string]any{"type": []string{"string", "number", "boolean"}})
	case "columns", "column":
		return list(text)
	case "bearing":
		return map[string]any{"anyOf": []any{map[string]any{"type": "number"}, section("place")}}
	case "role":
		return map[string]any{"anyOf": []any{text, section("role")}}
	case "rows", "expect":
		return list(section(w.kind))
	case "text", "pattern", "unit":
		return text
	}
	return section(w.kind)
}
