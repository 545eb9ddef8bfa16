package sim

import (
	"fmt"
	"math/rand/v2"
	"time"

	"fairlead/ingest/contract/event"
)

// Part is a head, shaft, grip or ball that many players meet, as planted: what it
// does beyond its figures, and how often it is chosen where it was hit.
type Part struct {
	Model     string  `json:"model"`
	Direction float64 `json:"direction_ln"` // ln of the spread of directions
	Carry     float64 `json:"carry_m"`
	Chosen    float64 `json:"chosen"` // weight of the choice; 0: nobody ever takes it
}

// Trade is the truth of a group's trade: what its catalogue does, what is chosen
// of it, and how well fitters' promises hold.
type Trade struct {
	Heads  []Part `json:"heads"`
	Shafts []Part `json:"shafts"`
	Grips  []Part `json:"grips"`
	Balls  []Part `json:"balls"`
	// Pair is what a step of length does more for each step of shaft weight.
	Pair float64 `json:"length_by_shaft_weight"`
	// Toe and High are what a step of head weight does more for each cm of a mean
	// strike toward the toe, and a step of loft for each cm above the centre.
	Toe  float64 `json:"head_weight_by_cm_toe"`
	High float64 `json:"loft_by_cm_high"`
	// Sold is the share of sessions that end with a new club in the first month,
	// Growth what it grows by in each month after.
	Sold   float64 `json:"sold"`
	Growth float64 `json:"sold_growth_a_month"`
	// Promised is by how much each fitter promises too much (logarithm of the
	// spread of directions), by the last number of the fitter's name; Fades is by how
	// much wider clubs are at checks of more than sixty days later.
	Promised [4]float64 `json:"promised_too_much"`
	Fades    float64    `json:"fades_later"`
	// Putters are those of the catalogue, with what each does to the start line.
	Putters []Part `json:"putters"`
}

// thisTrade is planted wherever a fleet trades. Models are invented.
var thisTrade = Trade{
	Heads: []Part{{"Tern 460", 0, 0, 1}, {"Gannet", -0.10, 0.5, 2}, {"Fulmar Max", 0.08, 0, 1}, {"Skua LS", 0.12, 2, 0.5},
		{"Dotterel", -0.06, -1, 1}, {"Turnstone", 0.04, 0, 0}, {"Whinchat", -0.12, -0.5, 2}, {"Siskin", 0.05, 1, 0.7}},
	Shafts: []Part{{"Osier", 0.05, 0, 1}, {"Withy", -0.04, 0, 2}, {"Rowan", 0, 0, 1.5}, {"Hornbeam", -0.08, -0.8, 1},
		{"Alder", 0.09, 1, 0.5}, {"Blackthorn", -0.02, 0, 3}},
	Grips: []Part{{"Sisal", 0.06, 0, 1}, {"Cork", -0.06, 0, 1}, {"Hemp", 0.03, 0, 1}, {"Linen", -0.03, 0, 1}, {"Jute", 0, 0, 1}},
	Balls: []Part{{"Buoy Tour", 0, 0, 1}, {"Buoy Soft", 0.14, -3, 0}, {"Fender", -0.10, 2, 0}},
	Pair:  0.06, Toe: 0.10, High: -0.10, Sold: 0.35, Growth: 0.012, Promised: [4]float64{0.25, 0, 0, 0}, Fades: 0.15,
	Putters: []Part{{"Mole", 0, 0, 1}, {"Causeway", -0.12, 0, 1}, {"Breakwater", 0.10, 0, 1}, {"Bollard", -0.06, 0, 1}, {"Gantry", 0.08,
		0, 1}},
}

// TradeOptions say what a fleet that trades is like; the zero value trades nothing.
type TradeOptions struct {
	Years    float64 `json:"years,omitempty"`    // over which sessions are spread
	Stock    int     `json:"stock,omitempty"`    // builds of a catalogue that all players hit; 0: none
	Balls    bool    `json:"balls,omitempty"`    // sessions end with another ball
	Verdicts bool    `json:"verdicts,omitempty"` // sessions end with a verdict and its promise
	Checks   float64 `json:"checks,omitempty"`   // share of chosen clubs that are hit again
	Strikes  bool    `json:"strikes,omitempty"`  // players strike elsewhere than the centre, and it matters
	Pairs    bool    `json:"pairs,omitempty"`    // length and shaft weight act together
	Putters  float64 `json:"putters,omitempty"`  // share of the players who try putters too
}

// trades says whether anything of it is asked for.
func (o *TradeOptions) trades() bool { return *o != TradeOptions{} }

func (o *TradeOptions) check() error {
	if o.Stock != 0 && (o.Stock < 8 || o.Stock > 5000) {
		return fmt.Errorf("a catalogue of %d builds: give 8 to 5000, or 0 for none", o.Stock)
	}
	if !(o.Years >= 0 && o.Years <= 30) {
		return fmt.Errorf("a fleet over %g years: give 0 to 30", o.Years)
	}
	if !(o.Checks >= 0 && o.Checks <= 1) || !(o.Putters >= 0 && o.Putters <= 1) {
		return fmt.Errorf("shares of %g hit checks and %g putters: give 0 to 1", o.Checks, o.Putters)
	}
	if o.trades() && o.Stock == 0 {
		return fmt.Errorf("years, balls, verdicts, strikes, pairs and putters are of a group that trades: " +
			"give it a catalogue, the builds of a stock")
	}
	if o.Checks > 0 && !o.Verdicts {
		return fmt.Errorf("hit checks hold verdicts against what came of them: ask for verdicts too")
	}
	return nil
}

// catalogue are the builds that fitters of a fleet hand out.
type catalogue struct {
	drivers, putters []*fleetBuild
	settings         map[string]string // ids by category and ball
}

// newCatalogue draws them: every head, shaft and grip many times, crossed with
// figures that differ by what a shop would make.
func newCatalogue(o *FleetOptions) *catalogue {
	out := &catalogue{settings: map[string]string{}}
	r := source(o.Seed, "fleet catalogue")
	t := &thisTrade
	for category, s := range fleetSettings {
		for _, ball := range t.Balls {
			s.BallModel = ball.Model
			out.settings[categoryWords[category]+"/"+ball.Model] = s.ID()
		}
	}
	for i := range o.Trade.Stock {
		c := drawGamer(r, 0)
		c.shaft, c.length = int8(between(r, -2, 3)), int8(between(r, -2, 2))
		head, shaft, grip := t.Heads[i%len(t.Heads)], pick(r, t.Shafts), pick(r, t.Grips)
		b := buildCode{club: c}.make()
		name := fmt.Sprintf("%s %s %s #%d", head.Model, shaft.Model, grip.Model, i+1)
		b.catalogue(name, head, shaft, grip)
		out.drivers = append(out.drivers, b)
	}
	for i, p := range t.Putters {
		for k := range 2 {
			b := &fleetBuild{values: Attributes{Length: 0.864 + 0.0127*float64(k), Loft: 3, Lie: 70 + float64(i%3),
				HeadWeight: 0.345 + 0.005*float64((i+k)%3)},
				known: [attributes]bool{Length: true, Loft: true, Lie: true, HeadWeight: true}}
			b.build = &event.Build{}
			for _, a := range []Attribute{Length, Loft, Lie, HeadWeight} {
				b.build.Specs = append(b.build.Specs, &event.Spec{Field: a.Info().Field, Number: b.values[a],
					Knowledge: event.Knowledge_KNOWLEDGE_MEASURED})
			}
			b.catalogue(fmt.Sprintf("%s %d", p.Model, k+1), p, Part{}, Part{})
			out.putters = append(out.putters, b)
		}
	}
	return out
}

// catalogue gives a build its models and what they do.
func (b *fleetBuild) catalogue(name string, parts ...Part) {
	b.head, b.shaft, b.grip = parts[0].Model, parts[1].Model, parts[2].Model
	b.chosen = 1
	kept := b.build.Specs[:0]
	for _, s := range b.build.Specs {
		if s.Field != event.BuildField_BUILD_HEAD_MODEL && s.Field != event.BuildField_BUILD_SHAFT_MODEL {
			kept = append(kept, s)
		}
	}
	b.build.Specs = kept
	for i, f := range []event.BuildField{event.BuildField_BUILD_HEAD_MODEL, event.BuildField_BUILD_SHAFT_MODEL,
		event.BuildField_BUILD_GRIP_MODEL} {
		if parts[i].Model != "" {
			b.build.Specs = append(b.build.Specs, &event.Spec{Field: f, Text: parts[i].Model})
		}
		b.direction += parts[i].Direction
		b.carry += parts[i].Carry
		if parts[i].Model != "" {
			b.chosen *= parts[i].Chosen
		}
	}
	b.name, b.build.Name = name, name
	b.key = event.BuildKey(b.build)
}

// own gives a player's own club what its models do.
func (t *Trade) own(b *fleetBuild) (direction, carry float64) {
	for _, set := range []struct {
		parts []Part
		model string
	}{{t.Heads, b.head}, {t.Shafts, b.shaft}} {
		for _, p := range set.parts {
			if p.Model == set.model {
				direction, carry = direction+p.Direction, carry+p.Carry
			}
		}
	}
	return direction, carry
}

// setting is the setting of a category with a ball, by its id.
func (c *catalogue) setting(category int, ball string) string {
	return c.settings[categoryWords[category]+"/"+ball]
}

// when is the hour at which a player comes for the first time: players come
// evenly over the years.
func (f *Fleet) when(r *rand.Rand, number int) int64 {
	span := f.Options.Trade.Years * 365.25 * 86400
	at := span * (float64(number) + r.Float64()) / float64(f.Options.Players)
	return f.Options.Start + int64(at)*int64(time.Second)
}

// months are those between the fleet's first day and an instant.
func (f *Fleet) months(at int64) float64 {
	return float64(at-f.Options.Start) / (30.4375 * 86400 * 1e9)
}
