package sim

import (
	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
)

const (
	low       = "LowCardinality(String)"
	text      = "String"
	maybe     = "Nullable(Float64)"
	timestamp = "DateTime64(9, 'UTC')"
)

// one is a column with the same text in every row.
func one(s string, rows int) store.Words {
	return store.Words{Dict: []string{s}, Keys: make([]uint32, rows)}
}

func fill[T any](v T, rows int) []T {
	out := make([]T, rows)
	for i := range out {
		out[i] = v
	}
	return out
}

// gaps are values of which NaN are not known.
func gaps(values []float64) store.Gaps {
	out := store.Gaps{Values: values, Unknown: make([]bool, len(values))}
	for i, v := range values {
		if v != v {
			values[i], out.Unknown[i] = 0, true
		}
	}
	return out
}

// entries are the bay's shots as a block of the table of that name. The column
// entry, what the bay's journal would hold, stays empty: there was no journal.
func (b *bayRows) entries() store.Block {
	n := len(b.effective)
	seq := make([]uint64, n)
	for i := range seq {
		seq[i] = b.seq - uint64(n) + uint64(i) + 1
	}
	var measured uint64
	for _, f := range fleetFields {
		measured |= 1 << f
	}
	out := store.Block{Rows: n, Columns: []store.BlockColumn{
		{Name: "studio", Type: low, Data: one(b.studio, n)}, {Name: "bay", Type: low, Data: one(b.bay, n)},
		{Name: "journal", Type: low, Data: one(b.journal, n)},
		{Name: "seq", Type: "UInt64", Data: seq}, {Name: "shot_id", Type: "UUID", Data: b.ids},
		{Name: "version", Type: "UInt64", Data: fill[uint64](fleetVersion, n)},
		{Name: "device", Type: low, Data: one(b.bias.Device, n)}, {Name: "role", Type: low, Data: one("ball", n)},
		{Name: "received", Type: timestamp, Data: b.effective}, {Name: "effective", Type: timestamp, Data: b.effective},
		{Name: "at", Type: timestamp, Data: b.effective},
		{Name: "certainty", Type: low, Data: one("synced", n)}, {Name: "status", Type: low, Data: b.status.Words},
		{Name: "visit", Type: low, Data: b.visit.Words}, {Name: "session", Type: low, Data: b.session.Words},
		{Name: "trial", Type: low, Data: b.trial.Words},
		{Name: "trial_number", Type: "UInt16", Data: b.number}, {Name: "part", Type: "UInt16", Data: b.part},
		{Name: "build", Type: low, Data: b.build.Words},
		{Name: "player", Type: low, Data: b.player.Words}, {Name: "fitter", Type: low, Data: b.fitter.Words},
		{Name: "hitter_kind", Type: low, Data: one("player", n)}, {Name: "hand", Type: low, Data: b.hand.Words},
		{Name: "category", Type: low, Data: b.category.Words},
		{Name: "class", Type: low, Data: one("full", n)}, {Name: "intent", Type: low, Data: one("normal", n)},
		{Name: "instruction", Type: low, Data: b.instruction.Words}, {Name: "instructions", Type: "UInt16", Data: b.instructions},
		{Name: "setting", Type: low, Data: b.setting.Words}, {Name: "place", Type: low, Data: one("indoor", n)},
		{Name: "surface", Type: low, Data: b.surface.Words},
		{Name: "ball_model", Type: low, Data: b.ballModel.Words},
		{Name: "ball_class", Type: low, Data: one(fleetSettings[0].BallClass, n)},
		{Name: "order_trial", Type: "UInt32", Data: b.orderTrial}, {Name: "order_session", Type: "UInt32", Data: b.orderSession},
		{Name: "swap", Type: "UInt32", Data: b.swap},
		{Name: "consent", Type: "Bool", Data: fill(true, n)}, {Name: "measured", Type: "UInt64", Data: fill(measured, n)},
		{Name: "direction_deg", Type: maybe, Data: b.direction},
	}}
	for i, f := range fleetFields {
		info, _ := f.Info()
		out.Columns = append(out.Columns, store.BlockColumn{Name: info.Column, Type: maybe, Data: gaps(b.fields[i])})
	}
	return out
}

// trials are the bay's trial rows as a block of the table of that name.
func (b *bayRows) trials() store.Block {
	t := &b.t
	n := len(t.part)
	out := store.Block{Rows: n, Columns: []store.BlockColumn{
		{Name: "studio", Type: low, Data: one(b.studio, n)}, {Name: "bay", Type: low, Data: one(b.bay, n)},
		{Name: "session", Type: text, Data: t.session.Words}, {Name: "trial", Type: text, Data: t.trial.Words},
		{Name: "part", Type: "UInt16", Data: t.part},
		{Name: "version", Type: "UInt64", Data: fill[uint64](fleetVersion, n)}, {Name: "visit", Type: text, Data: t.visit.Words},
		{Name: "player", Type: text, Data: t.player.Words}, {Name: "fitter", Type: low, Data: t.fitter.Words},
		{Name: "hand", Type: low, Data: t.hand.Words},
		{Name: "category", Type: low, Data: t.category.Words}, {Name: "consent", Type: "Bool", Data: fill(true, n)},
		{Name: "class", Type: low, Data: one("full", n)}, {Name: "intent", Type: low, Data: one("normal", n)},
		{Name: "build", Type: low, Data: t.build.Words}, {Name: "build_name", Type: low, Data: t.name.Words},
		{Name: "gamer", Type: "Bool", Data: t.gamer},
		{Name: "build_head_model", Type: low, Data: t.head.Words}, {Name: "build_shaft_model", Type: low, Data: t.shaft.Words},
		{Name: "build_flex", Type: low, Data: t.flex.Words},
		{Name: "device", Type: low, Data: one(b.bias.Device, n)}, {Name: "place", Type: low, Data: one("indoor", n)},
		{Name: "surface", Type: low, Data: t.surface.Words},
		{Name: "build_grip_model", Type: low, Data: t.grip.Words}, {Name: "ball_model", Type: low, Data: t.ball.Words},
		{Name: "ball_class", Type: low, Data: one(fleetSettings[0].BallClass, n)},
		{Name: "setting", Type: low, Data: t.setting.Words}, {Name: "instruction", Type: text, Data: t.instruction.Words},
		{Name: "instruction_kind", Type: low, Data: t.kind.Words},
		{Name: "level", Type: "UInt16", Data: t.level}, {Name: "order_session", Type: "UInt16", Data: t.order},
		{Name: "first_shot_order", Type: "UInt32", Data: t.firstOrder},
		{Name: "first_shot", Type: timestamp, Data: t.first}, {Name: "last_shot", Type: timestamp, Data: t.last},
		{Name: "n", Type: "UInt32", Data: t.n}, {Name: "n_excluded", Type: "UInt32", Data: t.excluded},
		{Name: "n_landing", Type: "UInt32", Data: t.landings}, {Name: "n_directed", Type: "UInt32", Data: t.n},
		{Name: "carry_mean_m", Type: "Float64", Data: t.carry}, {Name: "offline_mean_m", Type: "Float64", Data: t.offline},
		{Name: "scatter_cc_m2", Type: "Float64", Data: t.cc}, {Name: "scatter_co_m2", Type: "Float64", Data: t.co},
		{Name: "scatter_oo_m2", Type: "Float64", Data: t.oo},
		{Name: "direction_mean_deg", Type: "Float64", Data: t.direction}, {Name: "direction_ss_deg2", Type: "Float64", Data: t.dss},
		{Name: "direction_s4_deg4", Type: "Float64", Data: t.d4}, {Name: "carry_s4_m4", Type: "Float64", Data: t.c4},
		{Name: "choice", Type: low, Data: t.choice.Words}, {Name: "chance", Type: "Float64", Data: t.chance},
		{Name: "offered", Type: "UInt8", Data: t.offered},
		{Name: "flight_model", Type: low, Data: one("", n)}, // its flights are the world's own
		{Name: "fields.field", Type: "Array(UInt8)", Data: t.field}, {Name: "fields.n", Type: "Array(UInt32)", Data: t.fieldN},
		{Name: "fields.mean", Type: "Array(Float64)", Data: t.fieldMean}, {Name: "fields.ss", Type: "Array(Float64)", Data: t.fieldSS},
	}}
	for a := range attributes {
		info := a.Info()
		if a == Flex {
			continue // a letter, not a number
		}
		field, _ := event.BuildField(info.Field).Info()
		out.Columns = append(out.Columns, store.BlockColumn{Name: "build_" + field.Column, Type: maybe, Data: t.attributes[a]})
	}
	return out
}
