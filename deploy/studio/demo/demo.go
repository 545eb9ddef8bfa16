package demo

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/sim"
)

// Demo is a demo studio of four simulated bays.
type Demo struct {
	Dir  string        // its folder; empty: fairlead-demo here, with For a temporary one
	For  time.Duration // end after this time and check; 0: go on
	Seed uint64        // of the simulated players, devices and fitters
	Rate float64       // hits a second in each bay

	config *studio.Config
	log    *slog.Logger
	out    io.Writer
	met    map[bool]*sim.Player // a year ago: false the player, true the fitter
	fresh  bool                 // the studio was made by Open
}

// Open makes the studio where it is not there yet. close removes what is temporary.
func (d *Demo) Open() (config *studio.Config, close func(), err error) {
	close = func() {}
	switch {
	case d.Dir == "" && d.For > 0:
		if d.Dir, err = os.MkdirTemp("", "fairlead-demo-*"); err != nil {
			return nil, close, err
		}
		close = func() { os.RemoveAll(d.Dir) }
	case d.Dir == "":
		d.Dir = "fairlead-demo"
		fallthrough
	default:
		if d.Dir, err = filepath.Abs(d.Dir); err != nil {
			return nil, close, err
		}
	}
	_, found := os.Stat(filepath.Join(d.Dir, "studio.yaml"))
	d.fresh, d.met = found != nil, map[bool]*sim.Player{}
	d.config, err = configIn(d.Dir)
	return d.config, close, err
}

// Run runs the studio and lets its bays hit until ctx ends, or for the demo's
// time; then it is checked, and the result is not nil. What the processes say
// goes to said, where the console is to out.
func (d *Demo) Run(ctx context.Context, out, said io.Writer, log *slog.Logger) (*Result, error) {
	d.log, d.out = log, out
	if err := d.config.RefuseBadStart(ctx); err != nil {
		return nil, err
	}
	ctx, done := context.WithCancel(ctx)
	defer done()
	if d.fresh {
		if err := d.lastYear(ctx); err != nil {
			return nil, err
		}
	}
	var result *Result
	err := d.config.Up(ctx, said, log, func(ctx context.Context) error {
		if d.For > 0 {
			fmt.Fprintf(out, "demo studio in %s for %v: http://%s\n", d.Dir, d.For, d.config.Console.Listen)
		} else {
			fmt.Fprint(out, d.welcome())
		}
		r, err := d.hit(ctx)
		result = r
		if d.For > 0 || err != nil {
			done()
		}
		return err
	})
	return result, err
}

// configIn writes the demo's configuration, on the usual ports where they are
// free. A folder that holds one keeps its ports, so that a demo goes on.
func configIn(dir string) (*studio.Config, error) {
	file := filepath.Join(dir, "studio.yaml")
	if _, err := os.Stat(file); err == nil {
		return studio.Load(file)
	}
	var at [3]string
	for i, port := range []int{4222, 8123, 8080} {
		address, err := studio.FreeAddress(port)
		if err != nil {
			return nil, err
		}
		at[i] = address
	}
	if _, err := sim.DemoConfig(dir, sim.Addresses{Broker: at[0], Store: at[1], Console: at[2], Metrics: "127.0.0.1:0"}); err != nil {
		return nil, err
	}
	return studio.Load(file)
}

// hit lets the simulated bays hit. Without a time that goes on until ctx ends.
func (d *Demo) hit(ctx context.Context) (*Result, error) {
	config, log := d.config, d.log
	if err := waitBays(ctx, config, log); err != nil {
		return nil, err
	}
	truth, err := os.OpenFile(filepath.Join(d.Dir, "truth.ndjson"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, err
	}
	defer truth.Close()
	watch := NewWatch(config)
	watching, stop := context.WithCancel(ctx)
	defer stop()
	for _, b := range config.Bays {
		go watch.follow(watching, b.Name)
	}
	hand := &sim.ConsoleHand{URL: "http://" + config.Console.Listen}
	d.name(ctx, hand, d.met[false], false)
	d.name(ctx, hand, d.met[true], true)
	bays, guest := sim.DemoBays(d.Dir), func(bay, visit int) *sim.Player { return nil }
	if p := d.met[false]; p != nil {
		guest = func(bay, visit int) *sim.Player {
			if bay != lastYearBay || visit != 1 {
				return nil
			}
			return p
		}
	}
	if d.For == 0 || d.For >= fleetWorth {
		bays[lastYearBay].After = d.fleetIsThere(ctx)
		go counting(watching, d.out, watch, config.Bays)
	}
	summary, err := sim.RunBays(ctx, sim.Options{
		Studio: config.Studio, Bays: bays, Hand: hand, Guest: guest,
		Meet: func(ctx context.Context, p *sim.Player, fitter bool) { d.name(ctx, hand, p, fitter) },
		Seed: d.Seed, For: d.For, Rate: d.Rate, Truth: io.MultiWriter(truth, watch), Log: log,
	})
	if ctx.Err() != nil {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if d.For == 0 {
		return nil, errors.New("the simulated bays ended by themselves")
	}
	time.Sleep(300 * time.Millisecond) // the last shots are on their way to the page
	stop()
	return Check(ctx, config, log, watch, summary)
}

// waitBays waits until every bay's collector answers and knows the hub's time:
// before that nobody would hit a ball.
func waitBays(ctx context.Context, config *studio.Config, log *slog.Logger) error {
	nc, _, err := stream.Connect(config.ToolsLink("demo", log))
	if err != nil {
		return err
	}
	defer nc.Close()
	for _, place := range config.Places() {
		for deadline := time.Now().Add(20 * time.Second); ; {
			h, err := audit.Ask(ctx, nc, place, time.Second)
			if err == nil && h.ClockRttNs > 0 {
				break
			}
			if ctx.Err() != nil {
				return nil
			}
			if time.Now().After(deadline) {
				return fmt.Errorf("bay %s is not ready after 20 s: %v: see what it says in the log", place.Bay, err)
			}
			select {
			case <-ctx.Done():
				return nil
			case <-time.After(50 * time.Millisecond):
			}
		}
	}
	// The feeds begin within a moment of that.
	select {
	case <-ctx.Done():
	case <-time.After(1200 * time.Millisecond):
	}
	return nil
}
