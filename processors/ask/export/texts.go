package export

import (
	"bytes"
	"encoding/json"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/vault"
)

// Free text of people, and what rows hold sealed of it, is only in exports with
// names, which the hub makes. All others say at most that there was some.

const sealedText = `sealed1\\.[a-z2-7]{16}\\.[A-Za-z0-9_-]+~`

// withoutTexts gives of a column what may stand in an export without names.
func withoutTexts(table, column string) string {
	switch table + "." + column {
	case "shots.reason":
		return "if(toString(status) = 'excluded', '', replaceRegexpAll(reason, '" + sealedText + "', '')) AS reason"
	case "shots.instruction", "trials.instruction":
		return "if(empty(toString(instruction)), '', 'given') AS instruction"
	case "trials.build_name":
		return "'' AS build_name"
	case "verdicts.words":
		return "'' AS words"
	case "visits.body": // texts of a later version's fields stand sealed
		return `replaceRegexpAll(replaceRegexpAll(replaceRegexpAll(body, '` + sealedText + `', ''), ` +
			`'"(words|reason|aim|waits_for|glove)":"([^"\\\\]|\\\\.)*"', '"\\1":""'), ` +
			`'"build":\\{"name":"([^"\\\\]|\\\\.)*"', '"build":{"name":""') AS body`
	}
	return "`" + column + "`"
}

// opened is an object with what stands sealed in it in clear.
func opened(line []byte, keys *vault.Ring) []byte {
	if keys == nil || !event.HoldsSealed(line) {
		return line
	}
	var row struct{ Body json.RawMessage }
	var body string
	if json.Unmarshal(line, &row) == nil && json.Unmarshal(row.Body, &body) == nil {
		if quoted, err := json.Marshal(string(keys.OpenJSON([]byte(body)))); err == nil {
			line = bytes.Replace(line, row.Body, quoted, 1)
		}
	}
	return keys.OpenJSON(line)
}

// openedCell is a cell of a column with what stands sealed in it in clear.
func openedCell(column, text string, keys *vault.Ring) string {
	if keys == nil || !event.HoldsSealed(text) {
		return text
	}
	if column == "body" {
		return string(keys.OpenJSON([]byte(text)))
	}
	return keys.Open(text)
}
