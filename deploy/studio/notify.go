package studio

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/watch"
)

// Notify says who is told when something is wrong, and when.
type Notify struct {
	Hours   string  `yaml:"hours"` // when the studio is open, such as 08:00-22:00: outside of them a silent bay is no trouble; default: always
	Quiet   string  `yaml:"quiet"` // when only what is critical is told, such as 22:00-07:00
	Mail    Mail    `yaml:"mail"`
	Webhook Webhook `yaml:"webhook"`
}

// Mail is a mail server and who is written to.
type Mail struct {
	Server       string   `yaml:"server"` // host:port; none: no mail
	TLS          string   `yaml:"tls"`    // starttls (default), tls or none
	From         string   `yaml:"from"`
	To           []string `yaml:"to"`
	User         string   `yaml:"user"`
	PasswordFile string   `yaml:"password_file"`
}

// Webhook is an address that takes messages as JSON.
type Webhook struct {
	URL        string `yaml:"url"`
	SecretFile string `yaml:"secret_file"` // signs the messages; optional
}

func (n Notify) check() (problems []error) {
	for key, text := range map[string]string{"notify.hours": n.Hours, "notify.quiet": n.Quiet} {
		if _, err := watch.ParseHours(text); err != nil {
			problems = append(problems, fmt.Errorf("%s: %w", key, err))
		}
	}
	if n.Mail.Server != "" {
		if err := (watch.Mail{Server: n.Mail.Server, TLS: n.Mail.TLS, From: n.Mail.From, To: n.Mail.To}).Check(); err != nil {
			problems = append(problems, fmt.Errorf("notify.mail: %w", err))
		}
	}
	if u, err := url.Parse(n.Webhook.URL); n.Webhook.URL != "" && (err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https") {
		problems = append(problems, fmt.Errorf("notify.webhook.url: %q: write an address such as https://host/path", n.Webhook.URL))
	}
	return problems
}

// Senders are the ways to people that the configuration names. A secret that
// can't be read is an error.
func (c *Config) Senders() (out []watch.Sender, err error) {
	if m := c.Notify.Mail; m.Server != "" {
		password, err := c.secret(m.PasswordFile)
		if err != nil {
			return nil, fmt.Errorf("notify.mail.password_file: %w", err)
		}
		out = append(out, watch.Mail{Server: m.Server, TLS: m.TLS, From: m.From, To: m.To, User: m.User, Password: string(password)})
	}
	if h := c.Notify.Webhook; h.URL != "" {
		secret, err := c.secret(h.SecretFile)
		if err != nil {
			return nil, fmt.Errorf("notify.webhook.secret_file: %w", err)
		}
		out = append(out, watch.Webhook{URL: h.URL, Secret: secret})
	}
	return out, nil
}

// TestSenders sends a test message by each sender and names those that got it out.
func (c *Config) TestSenders(ctx context.Context) (told []string, err error) {
	senders, err := c.Senders()
	if err != nil {
		return nil, err
	}
	if len(senders) == 0 {
		return nil, errors.New("nobody would be told: set notify.mail or notify.webhook in the configuration")
	}
	var failed []error
	for _, s := range senders {
		short, cancel := context.WithTimeout(ctx, 30*time.Second)
		err := s.Send(short, watch.TestMessage(c.Studio, time.Now()))
		cancel()
		if err != nil {
			failed = append(failed, err)
			continue
		}
		told = append(told, s.Name())
	}
	return told, errors.Join(failed...)
}

func (c *Config) secret(file string) ([]byte, error) {
	if file == "" {
		return nil, nil
	}
	text, err := os.ReadFile(c.Path(file))
	return []byte(strings.TrimSpace(string(text))), err
}

// WatchFile holds what is wrong and since when.
func (c *Config) WatchFile() string { return c.DataPath("watch.json") }

// DaysFile holds how bays were on each of the last days.
func (c *Config) DaysFile() string { return c.DataPath("watch-days.json") }

// addressFile says where a process of this machine shows its metrics.
func (c *Config) addressFile(process string) string { return c.DataPath("metrics", process) }

// SayAddress writes down where a process shows its metrics, for who scrapes it: under
// its name, or with a number after it where another one of that name runs here. It is
// taken back when ctx ends, where it has one.
func (c *Config) SayAddress(ctx context.Context, process, address string) error {
	if err := os.MkdirAll(c.DataPath("metrics"), 0o700); err != nil {
		return err
	}
	name := process
	for n := 2; c.another(ctx, process, name, address); n++ {
		name = fmt.Sprint(process, "+", n)
	}
	if name != process {
		context.AfterFunc(ctx, func() {
			if c.Address(name) == address {
				os.Remove(c.addressFile(name))
			}
		})
	}
	return durable.WriteFile(c.addressFile(name), []byte(address+"\n"), 0o600)
}

// another says whether a name is that of another process of the sort, which runs.
func (c *Config) another(ctx context.Context, process, name, address string) bool {
	at := c.Address(name)
	if at == "" || at == address {
		return false
	}
	short, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	families, err := watch.Scrape(c.Client(0), func() string { return c.webURL(at) })(short)
	if err != nil {
		return false
	}
	for _, m := range families["fairlead_build_info"].GetMetric() {
		for _, l := range m.GetLabel() {
			if l.GetName() == "process" && (l.GetValue() == process || strings.HasPrefix(process, l.GetValue()+"-")) {
				return true // an address may have become another process's
			}
		}
	}
	return false
}

// Address is where a process said that it shows its metrics; empty: nowhere.
func (c *Config) Address(process string) string {
	text, _ := os.ReadFile(c.addressFile(process))
	return strings.TrimSpace(string(text))
}

// Probes asks the processes that the studio runs on this machine.
func (c *Config) Probes() map[string]watch.Probe {
	hub := c.Client(0)
	at := func(process string) watch.Probe {
		return watch.Healthz(hub, func() string { return c.MetricsURL(process) })
	}
	out := map[string]watch.Probe{
		watch.Process: at("process"),
		watch.Console: func(ctx context.Context) error { return watch.Get(ctx, hub, c.ConsoleURL()+"/healthz") },
	}
	if c.Broker.URL == "" {
		out[watch.Broker] = at("broker")
	} else {
		out[watch.Broker] = c.askBroker()
	}
	if c.HeadOffice.URL != "" {
		out[watch.Forward] = func(ctx context.Context) error {
			err := at("forward")(ctx)
			if s, bad := c.Forwarding(); bad == nil && s.Away(time.Now()) {
				return nil // it asks again and again; that nobody answers is told after head_office.alarm_after
			}
			return err
		}
	}
	if c.Store.DSN == "" {
		out[watch.Engine] = func(ctx context.Context) error {
			token, err := os.ReadFile(c.EngineTokenFile())
			if err != nil {
				return fmt.Errorf("has no token yet: it was never started")
			}
			u := url.URL{Scheme: "http", Host: c.Store.Listen, Path: "/", User: url.UserPassword("default", strings.TrimSpace(string(token))),
				RawQuery: url.Values{"query": {store.Nothing}}.Encode()}
			return watch.Get(ctx, hub, u.String())
		}
	}
	return out
}

// Look is what a watch of this studio looks at: its processes, and what its bays
// say; bays may be nil while the broker was never reached.
func (c *Config) Look(bays *health.Bays, since time.Time, now func() time.Time) func(context.Context) []watch.Alarm {
	prober := &watch.Prober{Probes: c.Probes(), Now: now}
	lives, rooms := &watch.Lives{Fails: prober.Fails}, &watch.Rooms{}
	scrape := func(process string) watch.Scraped {
		return watch.Scrape(c.Client(0), func() string { return c.MetricsURL(process) })
	}
	figures := &watch.Figures{Metrics: watch.Together(scrape(watch.Process), scrape(watch.Broker)), Now: now}
	if before, err := watch.Read(c.WatchFile()); err == nil {
		figures.Go(before.Lasting())
	}
	hours, _ := watch.ParseHours(c.Notify.Hours) // checked with the configuration
	begun, tight := 0, time.Time{}
	return func(ctx context.Context) []watch.Alarm {
		at, restarts := now(), c.restarts()
		hub := append(prober.Look(ctx), lives.Look(restarts, at)...)
		if n := restarts[watch.Broker]; n != begun || slices.ContainsFunc(hub, watch.Alarm.Deafens) {
			begun, since = n, at // who was not heard meanwhile has yet to come back
		}
		hub = append(hub, c.backupAlarms(at)...)
		hub = append(hub, c.certificateAlarms(at)...)
		hub = append(hub, c.forwardAlarms(at)...)
		hub = append(hub, c.keyAlarms(bays, at)...)
		hub = append(hub, rooms.Look(c.disks(bays), at)...)
		hub = append(hub, figures.Look(ctx)...)
		if slices.ContainsFunc(hub, watch.Alarm.Tightens) {
			tight = at
		}
		seen := watch.Seen{At: at, Since: since, Hub: hub, Bays: bays.Alarms(), Here: c.here(), Tight: at.Sub(tight) < spokenWithin,
			Expected: len(c.Bays), Open: hours.None() || hours.Hold(at), Opened: hours.Began(at)}
		return seen.Causes()
	}
}

// spokenWithin is how long after the hub's disk has room again bays have surely said so.
const spokenWithin = 15 * time.Second

// here are the bays, and the console, whose journals lie on the hub's disk.
func (c *Config) here() (out []string) {
	if sameDisk(c.ConsoleJournalDir(), c.DataPath()) {
		out = append(out, stream.ConsoleBay)
	}
	for _, b := range c.Bays {
		if c.collects(b) && sameDisk(c.JournalDir(b.Name), c.DataPath()) {
			out = append(out, b.Name)
		}
	}
	return out
}

// apart is what a part of the hub that has a disk of its own leaves free of it.
const apart = 64 << 20

// disks are those of the hub and of the bays that say how full theirs are.
func (c *Config) disks(bays *health.Bays) (out []watch.Disk) {
	reserve, _ := c.MinFreeBytes() // checked with the configuration
	if free, err := FreeSpace(c.DataPath()); err == nil {
		out = append(out, watch.Disk{Where: "hub", Free: free, Reserve: uint64(reserve)})
	}
	for part, dir := range map[string]string{watch.Broker: c.BrokerDir(), watch.Engine: c.EngineDir()} {
		if of, err := FreeSpace(dir); err == nil && !sameDisk(dir, c.DataPath()) {
			out = append(out, watch.Disk{Where: part, Free: of, Reserve: apart})
		}
	}
	for _, b := range bays.All() {
		if h := b.Heartbeat; h.FreeBytes > 0 && !h.Full && b.Place.Bay != stream.ConsoleBay {
			out = append(out, watch.Disk{Where: watch.OfBay(b.Place.Bay), Free: uint64(h.FreeBytes), Told: true})
		}
	}
	return out
}

// Watch watches the studio until ctx ends. The broker may be away when it
// begins, for that is what it is to say.
func (c *Config) Watch(ctx context.Context, r *prometheus.Registry, log *slog.Logger) error {
	senders, err := c.Senders()
	if err != nil {
		return err
	}
	quiet, err := watch.ParseHours(c.Notify.Quiet)
	if err != nil {
		return err
	}
	bays := health.New(c.Places(), time.Now, log)
	before, _ := watch.Read(c.WatchFile()) // what can't be read is said by the watch
	bays.Recall(c.Studio, before.Heard)
	w, err := watch.New(watch.Options{
		Studio: c.Studio, File: c.WatchFile(), Days: c.DaysFile(), Look: c.Look(bays, time.Now(), time.Now), Senders: senders, Quiet: quiet,
		Now: time.Now, Logger: log, Registry: r, Heard: func() map[string]time.Time { return bays.Heard(c.Studio) },
	})
	if err != nil {
		return err
	}
	if err := r.Register(&judged{c}); err != nil {
		return err
	}
	if c.Backup.To != "" {
		if err := r.Register(&ages{c}); err != nil {
			return err
		}
	}
	var group sync.WaitGroup
	defer group.Wait()
	group.Go(func() {
		for ctx.Err() == nil {
			nc, _, err := stream.Connect(c.Link(ToolsKey, stream.Place{}))
			if err == nil {
				defer nc.Close()
				if _, err = bays.Subscribe(nc, nil); err == nil {
					<-ctx.Done()
					return
				}
			}
			log.Debug("bays can't be heard", "error", err)
			select {
			case <-ctx.Done():
			case <-time.After(time.Second):
			}
		}
	})
	w.Run(ctx)
	return nil
}

// restarts is how often `up` started each process again.
func (c *Config) restarts() map[string]int {
	var running []Running
	if text, err := os.ReadFile(c.ProcessesFile()); err != nil || json.Unmarshal(text, &running) != nil {
		return nil
	}
	out := map[string]int{}
	for _, r := range running {
		out[r.Name] = r.Restarts
	}
	return out
}

// Target is one group of addresses as Prometheus's HTTP service discovery reads it.
type Target struct {
	Targets []string          `json:"targets"`
	Labels  map[string]string `json:"labels"`
}

// Targets lists where the processes of this machine show their metrics now.
func (c *Config) Targets() (out []Target) {
	files, _ := filepath.Glob(c.addressFile("*"))
	at := map[string]string{}
	for _, f := range files {
		at[filepath.Base(f)] = c.Address(filepath.Base(f))
	}
	if c.Store.DSN == "" {
		at["engine"] = c.Store.Listen
	}
	for _, name := range slices.Sorted(maps.Keys(at)) {
		process, _, _ := strings.Cut(name, "+")
		labels := map[string]string{"studio": c.Studio, "job": process}
		if bay, ok := strings.CutPrefix(process, "collect-"); ok {
			labels["job"], labels["bay"] = "collect", bay
		}
		if c.Guarded(at[name]) {
			labels["__scheme__"] = "https"
		}
		out = append(out, Target{[]string{at[name]}, labels})
	}
	return out
}
