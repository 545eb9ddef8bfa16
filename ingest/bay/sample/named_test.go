package sample

import "testing"

// TestShotsThatSayTheirID: a list of shots with ids and figures with units is no list of
// values that say their names; one of such values is.
func TestShotsThatSayTheirID(t *testing.T) {
	shots := `{"version": 3, "records": [{"id": "a87c-9c", "Carry": "207.0 m", "Off": "3.1 m R"}, {"id": "37ab-b3", "Carry": "211.2 m", "Off": "0.4 m L"},
		{"id": "47ab-b4", "Carry": "215,2 m", "Off": "1.0 m R"}]}`
	table, err := Read([]File{{Name: "x.json", Data: []byte(shots)}})
	if err != nil || table.Rows != 3 || table.Records != "records" {
		t.Errorf("%v: %d rows of %q, want three of records", err, table.Rows, table.Records)
	}
	shot := `{"n": 1, "values": [{"id": "carry", "value": "207.0 m"}, {"id": "speed", "value": "66.1 m/s"}, {"id": "spin", "value": "2600 rpm"}]}` + "\n"
	if table, err = Read([]File{{Name: "x.ndjson", Data: []byte(shot + shot)}}); err != nil || table.Rows != 2 {
		t.Errorf("%v: %d rows, want two", err, table.Rows)
	}
}
