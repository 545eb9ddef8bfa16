package store

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/google/uuid"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
	"fairlead/processors/visit"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// EntryRow is an entry as it is stored: what the bay wrote, whose it is, and
// its values in the target frame.
type EntryRow struct {
	Entry   *event.Entry
	Payload []byte // the entry's bytes; nil: marshalled here
	Tag     *tag.Tag
	Values  *shot.Values
}

// Erased is the row of an entry whose player asked to be forgotten: its place
// and its times, and nothing of what was measured.
func (r EntryRow) Erased() EntryRow {
	return EntryRow{Entry: event.EraseEntry(r.Entry), Tag: r.Tag, Values: &shot.Values{}}
}

// column is one column of a table and how to take it from the rows. Columns
// are appended whole: one call a column instead of one a value.
type column[R any] struct {
	name string
	take func(rows []R) any
}

// collect makes a column from a function of one row.
func collect[R, T any](name string, value func(r *R) T) column[R] {
	return column[R]{name, func(rows []R) any {
		out := make([]T, len(rows))
		for i := range rows {
			out[i] = value(&rows[i])
		}
		return out
	}}
}

// optional makes a nullable column of numbers without an allocation a value,
// and without any where no row has the field, as most fields of most devices.
func optional[R any](name string, value func(r *R) (float64, bool)) column[R] {
	return column[R]{name, func(rows []R) any {
		var values []float64
		var out []*float64
		for i := range rows {
			if v, ok := value(&rows[i]); ok {
				if out == nil {
					values, out = make([]float64, len(rows)), make([]*float64, len(rows))
				}
				values[i] = v
				out[i] = &values[i]
			}
		}
		if out == nil {
			return unknown(len(rows))
		}
		return out
	}}
}

var allUnknown atomic.Pointer[[]*float64]

// unknown is a column of n unknown values; it is shared and only for reading.
func unknown(n int) []*float64 {
	if have := allUnknown.Load(); have != nil && len(*have) >= n {
		return (*have)[:n:n]
	}
	made := make([]*float64, n)
	allUnknown.Store(&made)
	return made
}

// hitWithin is between which times a shot was hit.
func hitWithin(t *tag.Tag) (from, to time.Time) {
	if t.From == 0 && t.To == 0 {
		return unixTime(t.At), unixTime(t.At)
	}
	unknown := time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano()
	return unixTime(max(t.From, 0)), unixTime(min(t.To, unknown))
}

func unixTime(ns int64) time.Time { return time.Unix(0, ns).UTC() }

// words turns the names of an enum of the contract into words: HAND_LEFT to
// left. A number without a name stays a number.
func words[E ~int32](names map[int32]string) func(E) string {
	known := make(map[E]string, len(names))
	for n, name := range names {
		_, w, _ := strings.Cut(name, "_")
		known[E(n)] = strings.ToLower(w)
	}
	return func(e E) string {
		if w, ok := known[e]; ok {
			return w
		}
		return strconv.Itoa(int(e))
	}
}

var (
	roleWord        = words[event.Role](event.Role_name)
	certaintyWord   = words[event.Certainty](event.Certainty_name)
	hitterWord      = words[event.HitterKind](event.HitterKind_name)
	handWord        = words[event.Hand](event.Hand_name)
	classWord       = words[event.ShotClass](event.ShotClass_name)
	intentWord      = words[event.Intent](event.Intent_name)
	instructionWord = words[event.InstructionKind](event.InstructionKind_name)
	whyWord         = words[event.Why](event.Why_name)
)

// settingIDs names the settings of rows; rows that follow one another mostly
// have the same.
func settingIDs[R any](name string, setting func(r *R) visit.Setting) column[R] {
	return column[R]{name, func(rows []R) any {
		out := make([]string, len(rows))
		var last visit.Setting
		for i := range rows {
			if s := setting(&rows[i]); i > 0 && s == last {
				out[i] = out[i-1]
			} else {
				out[i], last = s.ID(), s
			}
		}
		return out
	}}
}

var entryColumns = func() []column[EntryRow] {
	type R = EntryRow
	columns := []column[R]{
		collect("studio", func(r *R) string { return r.Entry.Studio }),
		collect("bay", func(r *R) string { return r.Entry.Bay }),
		collect("journal", func(r *R) string { return r.Entry.Journal }),
		collect("seq", func(r *R) uint64 { return r.Entry.Seq }),
		collect("shot_id", func(r *R) uuid.UUID { return uuid.UUID(r.Entry.ID()) }),
		collect("version", func(r *R) uint64 { return r.Tag.Version }),
		collect("device", func(r *R) string { return r.Entry.Device }),
		collect("device_shot_id", func(r *R) string { return r.Entry.DeviceShotId }),
		collect("role", func(r *R) string { return roleWord(r.Entry.Role) }),
		collect("feed", func(r *R) string { return r.Entry.Feed }),
		collect("file", func(r *R) string { return r.Entry.File }),
		collect("line", func(r *R) uint64 { return r.Entry.Line }),
		collect("device_time", func(r *R) time.Time { return unixTime(r.Entry.DeviceUnixNs) }),
		collect("received", func(r *R) time.Time { return unixTime(r.Entry.ReceivedUnixNs) }),
		collect("effective", func(r *R) time.Time { return unixTime(r.Entry.EffectiveUnixNs) }),
		collect("certainty", func(r *R) string { return certaintyWord(r.Entry.Certainty) }),
		collect("content", func(r *R) uint64 { return r.Entry.Content() }),
		collect("revision", func(r *R) uint32 { return r.Entry.Revision }),
		collect("deleted", func(r *R) bool { return r.Entry.Deleted }),
		collect("faults", func(r *R) string { return faultsText(r.Entry.Faults) }),
		collect("firmware", func(r *R) string { return r.Entry.Firmware }),
		collect("device_club", func(r *R) string { return r.Entry.DeviceClub }),
		collect("entry", func(r *R) []byte { return r.payload() }),

		collect("status", func(r *R) string { return r.Tag.Status.String() }),
		collect("reason", func(r *R) string { return r.Tag.Reason }),
		collect("erased", func(r *R) bool { return r.Tag.Forgotten }),
		collect("visit", func(r *R) string { return r.Tag.Visit }),
		collect("session", func(r *R) string { return r.Tag.Session }),
		collect("trial", func(r *R) string { return r.Tag.Trial }),
		collect("trial_number", func(r *R) uint16 { return uint16(r.Tag.TrialNumber) }),
		collect("part", func(r *R) uint16 { return uint16(r.Tag.Part) }),
		collect("moved", func(r *R) bool { return r.Tag.Moved }),
		collect("build", func(r *R) string { return r.Tag.BuildKey }),
		collect("player", func(r *R) string { return r.Tag.Player }),
		collect("fitter", func(r *R) string { return r.Tag.Fitter }),
		collect("hitter", func(r *R) string { return r.Tag.HitterID }),
		collect("hitter_kind", func(r *R) string { return hitterWord(r.Tag.Hitter) }),
		collect("hand", func(r *R) string { return handWord(r.Tag.Hand) }),
		collect("category", func(r *R) string { return r.Tag.Category }),
		collect("class", func(r *R) string { return classWord(r.Tag.Class) }),
		collect("class_length_m", func(r *R) float64 { return r.Tag.ClassLength }),
		collect("intent", func(r *R) string { return intentWord(r.Tag.Intent) }),
		collect("instruction", func(r *R) string { return r.Tag.Instruction }),
		collect("instructions", func(r *R) uint16 { return uint16(r.Tag.Instructions) }),
		settingIDs("setting", func(r *R) visit.Setting { return r.Tag.Setting }),
		collect("place", func(r *R) string { return r.Tag.Setting.Place }),
		collect("surface", func(r *R) string { return r.Tag.Setting.Surface }),
		collect("ball_model", func(r *R) string { return r.Tag.Setting.BallModel }),
		collect("ball_class", func(r *R) string { return r.Tag.Setting.BallClass }),
		collect("at", func(r *R) time.Time { return unixTime(r.Tag.At) }),
		collect("earliest", func(r *R) time.Time { from, _ := hitWithin(r.Tag); return from }),
		collect("latest", func(r *R) time.Time { _, to := hitWithin(r.Tag); return to }),
		collect("order_trial", func(r *R) uint32 { return uint32(r.Tag.OrderInTrial) }),
		collect("order_session", func(r *R) uint32 { return uint32(r.Tag.OrderInSession) }),
		collect("swap", func(r *R) uint32 { return uint32(r.Tag.Swap) }),
		collect("paired_with", func(r *R) uuid.UUID { return uuid.UUID(r.Tag.PairedWith.ID) }),
		collect("consent", func(r *R) bool { return r.Tag.Consent }),
		collect("minor", func(r *R) bool { return r.Tag.Minor }),
	}
	for _, info := range event.Fields() {
		columns = append(columns, optional(info.Column, func(r *R) (float64, bool) { return r.Values.Get(info.Field) }))
	}
	return append(columns,
		collect("measured", func(r *R) uint64 { return r.Values.Measured }),
		collect("device_computed", func(r *R) uint64 { return r.Values.Computed }),
		collect("air_adjusted", func(r *R) uint64 { return r.Values.AirAdjusted }),
		collect("air_as_flown", func(r *R) uint64 { return r.Values.AirAsFlown }),
		optional("direction_deg", func(r *R) (float64, bool) { return r.Values.Ours.Direction, r.Values.Ours.HasDirection }),
		optional("our_carry_m", func(r *R) (float64, bool) { return r.Values.Ours.Carry, r.Values.Ours.HasFlight }),
		optional("our_offline_m", func(r *R) (float64, bool) { return r.Values.Ours.Offline, r.Values.Ours.HasFlight }),
		optional("our_apex_m", func(r *R) (float64, bool) { return r.Values.Ours.Apex, r.Values.Ours.HasFlight }),
		optional("our_landing_angle_deg", func(r *R) (float64, bool) { return r.Values.Ours.LandingAngle, r.Values.Ours.HasFlight }),
		optional("standard_air_carry_m", func(r *R) (float64, bool) { return r.Values.Ours.StandardCarry, r.Values.Ours.HasStandardAir }),
		collect("flight_model", func(r *R) string { return modelOf(r.Values.Modelled()) }),
	)
}()

// modelOf is what the column flight_model says of a row: by which flight model it was
// computed, or nothing where no model had a part in it.
func modelOf(modelled bool) string {
	if modelled {
		return flight.Stamp()
	}
	return ""
}

// payload is what the column entry holds: the whole entry, so that a later
// correction can read it again exactly as the bay wrote it.
func (r *EntryRow) payload() []byte {
	if r.Payload != nil {
		return r.Payload
	}
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(r.Entry)
	if err != nil {
		return nil // an entry that was read from bytes can be written to bytes
	}
	return data
}

func faultsText(faults []*event.Fault) string {
	if len(faults) == 0 {
		return ""
	}
	var parts []string
	for _, f := range faults {
		if text := messageText(f); text != "" {
			parts = append(parts, text)
		}
	}
	return "[" + strings.Join(parts, ",") + "]"
}

// InsertEntries stores rows in one insert that is on the disk when it returns.
// The rows stay the caller's; after an error they may be given again.
func (s *Store) InsertEntries(ctx context.Context, rows []EntryRow) error {
	return insert(ctx, s, "entries", entryColumns, rows)
}

func insert[R any](ctx context.Context, s *Store, table string, columns []column[R], rows []R) error {
	if len(rows) == 0 {
		return nil
	}
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.name
	}
	// Over HTTP the driver would ask for the table's types before each insert.
	types, err := s.types(ctx, table, names)
	if err != nil {
		return err
	}
	ctx = clickhouse.Context(ctx, clickhouse.WithColumnNamesAndTypes(types))
	batch, err := s.conn.PrepareBatch(ctx, "INSERT INTO "+table+" ("+strings.Join(names, ", ")+")")
	if err != nil {
		return fmt.Errorf("insert into %s: %w", table, plain(err))
	}
	for i, c := range columns {
		if err := batch.Column(i).Append(c.take(rows)); err != nil {
			batch.Abort()
			return fmt.Errorf("insert into %s: column %s: %w: %w", table, c.name, errUnwritable, err)
		}
	}
	if err := batch.Send(); err != nil {
		return fmt.Errorf("insert %d rows into %s: %w", len(rows), table, plain(err))
	}
	return nil
}

// PrepareRaw builds the columns of an insert once and returns a function that
// inserts them bare: the baseline for benchmarks of InsertEntries.
func (s *Store) PrepareRaw(ctx context.Context, rows []EntryRow) (func(context.Context) error, error) {
	names := make([]string, len(entryColumns))
	built := make([]any, len(entryColumns))
	for i, c := range entryColumns {
		names[i], built[i] = c.name, c.take(rows)
	}
	types, err := s.types(ctx, "entries", names)
	if err != nil {
		return nil, err
	}
	return func(ctx context.Context) error {
		batch, err := s.conn.PrepareBatch(clickhouse.Context(ctx, clickhouse.WithColumnNamesAndTypes(types)),
			"INSERT INTO entries ("+strings.Join(names, ", ")+")")
		if err != nil {
			return err
		}
		for i, column := range built {
			if err := batch.Column(i).Append(column); err != nil {
				return err
			}
		}
		return batch.Send()
	}, nil
}
