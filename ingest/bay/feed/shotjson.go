package feed

import (
	"bytes"
	"encoding/json"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
)

// ShotJSON writes an entry as one JSON object: who and where, then each measure
// in its stored unit under its column name, which carries the unit (carry_m),
// in the order of the contract. Handed lists the fields whose direction still
// goes by the player's hand, adjusted those that the device turned to standard
// air, measured and computed those that it says so of.
func ShotJSON(e *event.Entry) ([]byte, error) {
	o := object{}
	o.text("device", e.Device)
	o.text("role", strings.ToLower(strings.TrimPrefix(e.Role.String(), "ROLE_")))
	o.put("shot_id", e.ID().String())
	o.text("device_shot_id", e.DeviceShotId)
	if e.DeviceUnixNs != 0 {
		o.put("device_time", time.Unix(0, e.DeviceUnixNs).UTC().Format(time.RFC3339Nano))
	}
	o.text("file", e.File)
	o.put("line", e.Line)
	if e.Revision != 0 {
		o.put("revision", e.Revision)
	}
	if e.Deleted {
		o.put("deleted", true)
	}
	o.text("device_club", e.DeviceClub)
	o.text("firmware", e.Firmware)
	if len(e.Settings) > 0 {
		o.put("settings", e.Settings)
	}
	var handed, adjusted, measured, computed []string
	for _, info := range event.Fields() {
		m := e.Measure(info.Field)
		if m == nil {
			continue
		}
		o.put(info.Column, m.Value)
		if m.Handed {
			handed = append(handed, info.Name)
		}
		if m.AirAdjusted == event.AirAdjusted_AIR_ADJUSTED {
			adjusted = append(adjusted, info.Name)
		}
		switch m.Provenance {
		case event.Provenance_PROVENANCE_MEASURED:
			measured = append(measured, info.Name)
		case event.Provenance_PROVENANCE_DEVICE:
			computed = append(computed, info.Name)
		}
	}
	o.list("handed", handed)
	o.list("air_adjusted", adjusted)
	o.list("measured", measured)
	o.list("computed_by_device", computed)
	return o.bytes()
}

// object is a JSON object that keeps the order of its keys.
type object struct {
	b   bytes.Buffer
	err error
}

func (o *object) put(key string, value any) {
	data, err := json.Marshal(value)
	if err != nil && o.err == nil {
		o.err = err
		return
	}
	if o.b.Len() > 0 {
		o.b.WriteByte(',')
	}
	name, _ := json.Marshal(key) // a string always encodes
	o.b.Write(append(append(name, ':'), data...))
}

func (o *object) text(key, value string) {
	if value != "" {
		o.put(key, value)
	}
}

func (o *object) list(key string, values []string) {
	if len(values) > 0 {
		o.put(key, values)
	}
}

func (o *object) bytes() ([]byte, error) {
	if o.err != nil {
		return nil, o.err
	}
	return append(append([]byte{'{'}, o.b.Bytes()...), '}'), nil
}
