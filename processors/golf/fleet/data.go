package fleet

import (
	"fmt"
	"math"
	"slices"
)

// Builder collects rows in order: a player, its sessions, their rows. It is
// not safe for concurrent use. Give each player's rows in one run and each
// session's rows in one run; Table sorts for you.
type Builder struct {
	d    *Data
	ref  []float64 // first row of the session, when levels are swept out
	yref float64
	base float64 // v0 of the session
	open int     // rows in the current session
	// varies gathers the player's columns that are not zero throughout; bit 63
	// stands for all columns from there on.
	varies uint64
	begun  int // where the player's rows begin
}

// Data holds the rows of one model. It is read-only once built, so several
// fits may run over it at the same time.
type Data struct {
	*plan
	wide    []float64 // rows × columns, when not compact
	narrow  []float32 // when compact: of each player only the columns that are not zero throughout
	at      []int     // by player, when compact: where they begin
	y, v    []float64 // v without the shared part
	y32     []float32
	v32     []float32
	shared  []float64 // v0 by session, when variances are shared
	session []int32   // session s holds rows session[s] … session[s+1]−1
	player  []int32   // player j holds sessions player[j] … player[j+1]−1
	mods    []float64 // players × (1 + moderators), the first being 1
	ids     []string
	index   map[string]int // nil as long as ids came in order
	lonely  int            // sessions of a single row
	varies  []uint64       // by player: which of the first 64 columns are not zero throughout
	square  []float64      // sum of squares by column
	levels  []int32        // rows × factors: which level of each a row has, −1 for none that has an effect
}

// NewBuilder checks the model and starts an empty data set for it.
func NewBuilder(m Model) (*Builder, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	d := &Data{plan: newPlan(&m), session: []int32{0}, player: []int32{0}, square: make([]float64, len(m.Columns))}
	return &Builder{d: d, ref: make([]float64, len(m.Columns))}, nil
}

// Grow makes room, so that a large data set is not copied while it is read.
func (b *Builder) Grow(players, sessions, rows int) {
	d := b.d
	if d.Compact {
		d.narrow = append(make([]float32, 0, rows*len(d.Columns)), d.narrow...)
		d.y32 = append(make([]float32, 0, rows), d.y32...)
		d.v32 = append(make([]float32, 0, rows), d.v32...)
	} else {
		d.wide = append(make([]float64, 0, rows*len(d.Columns)), d.wide...)
		d.y = append(make([]float64, 0, rows), d.y...)
		d.v = append(make([]float64, 0, rows), d.v...)
	}
	d.session = append(make([]int32, 0, sessions+1), d.session...)
	d.player = append(make([]int32, 0, players+1), d.player...)
	d.varies = append(make([]uint64, 0, players), d.varies...)
	d.ids = append(make([]string, 0, players), d.ids...)
	d.mods = append(make([]float64, 0, players*(1+len(d.Moderators))), d.mods...)
}

// Player begins a player with its traits, in the order of Model.Moderators.
func (b *Builder) Player(id string, mods []float64) error {
	b.closeSession()
	b.closePlayer()
	d := b.d
	if len(mods) != len(d.Moderators) {
		return fmt.Errorf("player %q: %d traits given, the model has %d", id, len(mods), len(d.Moderators))
	}
	for i, m := range mods {
		if !finite(m) {
			return fmt.Errorf("player %q: %s is %v: leave the player out, or give a number", id, d.Moderators[i], m)
		}
	}
	if d.index == nil && len(d.ids) > 0 && id <= d.ids[len(d.ids)-1] {
		d.index = make(map[string]int, len(d.ids))
		for i, have := range d.ids {
			d.index[have] = i
		}
	}
	if _, twice := d.index[id]; twice {
		return fmt.Errorf("player %q: given twice; give all rows of a player together", id)
	}
	if d.index != nil {
		d.index[id] = len(d.ids)
	}
	b.begun = len(d.narrow)
	d.ids = append(d.ids, id)
	d.mods = append(append(d.mods, 1), mods...)
	return nil
}

// Session begins a session of the current player. v0 is the covariance that
// its rows share; it counts only for a model with Shared variances.
func (b *Builder) Session(v0 float64) error {
	if len(b.d.ids) == 0 {
		return fmt.Errorf("a session was given before any player")
	}
	b.closeSession()
	if b.d.Variance == Shared {
		if !finite(v0) || v0 < 0 {
			return fmt.Errorf("player %q: the shared covariance v0 is %v; it must be 0 or more", b.d.ids[len(b.d.ids)-1], v0)
		}
		b.base = v0
	}
	b.open = 0
	return nil
}

// Row adds a row to the current session. v is the known sampling variance of y
// and counts unless the model estimates it; cols follow Model.Columns, and levels
// Model.Factors, −1 for a level that has no effect of its own.
func (b *Builder) Row(y, v float64, cols []float64, levels ...int32) error {
	d := b.d
	if err := d.known(levels); err != nil {
		return err
	}
	if len(d.ids) == 0 {
		return fmt.Errorf("a row was given before any player")
	}
	if len(cols) != len(d.Columns) {
		return fmt.Errorf("player %q: %d columns given, the model has %d", d.ids[len(d.ids)-1], len(cols), len(d.Columns))
	}
	if !finite(y) {
		return fmt.Errorf("player %q: the outcome is %v; leave the row out, or give a number", d.ids[len(d.ids)-1], y)
	}
	for i, c := range cols {
		if !finite(c) {
			return fmt.Errorf("player %q: %s is %v; leave the row out, or give a number", d.ids[len(d.ids)-1], d.Columns[i], c)
		}
	}
	switch d.Variance {
	case Estimated:
		v = 0
	default:
		if !finite(v) || v <= 0 {
			return fmt.Errorf("player %q: the sampling variance is %v; it must be above 0", d.ids[len(d.ids)-1], v)
		}
		if d.Variance == Shared {
			if v < b.base {
				return fmt.Errorf("player %q: the sampling variance %v is smaller than the part v0 = %v that it shares with its session",
					d.ids[len(d.ids)-1], v, b.base)
			}
			v -= b.base
		}
	}
	if d.SessionLevel {
		// Only differences within the session count. Measured from the first
		// row they are small, often exactly zero, and keep their digits.
		if b.open == 0 {
			copy(b.ref, cols)
			b.yref = y
		}
		y -= b.yref
	}
	b.open++
	d.levels = append(d.levels, levels...)
	for i, c := range cols {
		if d.SessionLevel {
			c -= b.ref[i]
		}
		if c != 0 {
			d.square[i] += c * c
			b.varies |= 1 << min(i, 63)
		}
		if d.Compact {
			d.narrow = append(d.narrow, float32(c))
		} else {
			d.wide = append(d.wide, c)
		}
	}
	if d.Compact {
		d.y32, d.v32 = append(d.y32, float32(y)), append(d.v32, float32(v))
	} else {
		d.y, d.v = append(d.y, y), append(d.v, v)
	}
	return nil
}

func (b *Builder) closeSession() {
	if b.open == 0 {
		return
	}
	if b.open == 1 {
		b.d.lonely++
	}
	b.d.session = append(b.d.session, int32(b.d.Rows()))
	if b.d.Variance == Shared {
		b.d.shared = append(b.d.shared, b.base)
	}
	b.open = 0
}

func (b *Builder) closePlayer() {
	d := b.d
	if len(d.ids) == 0 || len(d.player) == len(d.ids)+1 {
		return
	}
	if int(d.player[len(d.player)-1]) == len(d.session)-1 { // no rows came
		last := len(d.ids) - 1
		delete(d.index, d.ids[last])
		d.ids = d.ids[:last]
		d.mods = d.mods[:last*(1+len(d.Moderators))]
		return
	}
	if d.Compact {
		d.at = append(d.at, b.begun)
		b.pack()
	}
	d.player = append(d.player, int32(len(d.session)-1))
	d.varies = append(d.varies, b.varies)
	b.varies = 0
}

// pack moves the player's rows together over the columns that vary: of fourteen
// a player typically tried eight.
func (b *Builder) pack() {
	d := b.d
	to, L := b.begun, len(d.Columns)
	for from := b.begun; from < len(d.narrow); from += L {
		for c := range L {
			if b.varies>>min(c, 63)&1 != 0 {
				d.narrow[to] = d.narrow[from+c]
				to++
			}
		}
	}
	d.narrow = d.narrow[:to]
}

// find is the place of a player.
func (d *Data) find(id string) (int, bool) {
	if d.index == nil {
		return slices.BinarySearch(d.ids, id)
	}
	j, ok := d.index[id]
	return j, ok
}

// Data ends the collection. The builder must not be used afterwards.
func (b *Builder) Data() *Data {
	b.closeSession()
	b.closePlayer()
	return b.d
}

// Rows, Players and Sessions count what the data hold.
func (d *Data) Rows() int {
	if d.Compact {
		return len(d.y32)
	}
	return len(d.y)
}

// Players counts the players with at least one row.
func (d *Data) Players() int { return len(d.player) - 1 }

// Sessions counts the sessions with at least one row.
func (d *Data) Sessions() int { return len(d.session) - 1 }

// Bytes is the memory that the rows, sessions and traits take, without the
// players' names.
func (d *Data) Bytes() int {
	return 8*(len(d.wide)+len(d.at)+len(d.y)+len(d.v)+len(d.shared)+len(d.mods)+len(d.varies)) +
		4*(len(d.levels)+len(d.narrow)+len(d.y32)+len(d.v32)+len(d.session)+len(d.player))
}

// traits returns 1 and the player's moderators.
func (d *Data) traits(j int) []float64 {
	m := 1 + len(d.Moderators)
	return d.mods[j*m : (j+1)*m]
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
