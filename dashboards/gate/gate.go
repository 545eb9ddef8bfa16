package gate

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"

	"fairlead/ingest/log/durable"
)

// Options configure the gate.
type Options struct {
	Dir       string // where accounts, sessions and the trail are kept
	TokenFile string // holds what the hub's own tools show
	Studio    string
	Bays      []string
	Listen    string // the console's address
	// Open lets everybody do everything, by the studio's explicit word; pages say so.
	Open   bool
	Secure bool // the address is served by TLS
	Clear  bool // others can hear what goes to and fro, by the studio's explicit word
	// Provider is where people may sign in beside their passwords; nil: nowhere.
	Provider *Provider
	Now      func() time.Time
	Logger   *slog.Logger
}

// Gate stands before the console's pages.
type Gate struct {
	o        Options
	book     *Book
	trail    *Trail
	sessions *scs.SessionManager
	kept     *sessionStore
	routes   *http.ServeMux
	own      *http.ServeMux
	pages    *template.Template
	token    string // of the hub's tools
	setup    string // code by which the first account is made in a browser
	rates    *rates
	now      func() time.Time
	// elsewhere signs people in by the provider; nil: there is none.
	elsewhere *elsewhere
	// Joined is told of an account when someone signs in with it; may be nil. It
	// is set before the gate serves.
	Joined func(Account)

	mu   sync.Mutex
	live map[int]liveRequest // that end when who asked for them may no longer
	n    int
	saw  map[string]time.Time // what the trail was told of lately
}

type liveRequest struct {
	is  *Identity
	end context.CancelFunc
}

// Identity is who asks.
type Identity struct {
	Person  string // account's id; hub: the hub's own tools; empty: a screen
	Name    string
	Roles   []Role
	Device  string // paired device's id, browser, or hub
	Paired  bool
	ByPIN   bool // and so not for what a PIN is too short for
	Hub     bool
	From    string // address
	session string // what the session's token hashes to
}

// Has says whether one of the roles is the asker's.
func (i *Identity) Has(roles ...Role) bool {
	return slices.ContainsFunc(roles, func(r Role) bool { return slices.Contains(i.Roles, r) })
}

type identityKey struct{}

// From is who asks; nil where nobody is asked who they are.
func From(ctx context.Context) *Identity {
	i, _ := ctx.Value(identityKey{}).(*Identity)
	return i
}

// ErrNobodyMay says that a console that others reach has no accounts.
var ErrNobodyMay = errors.New("others reach this address, and nobody has an account: make the first with `fairlead people add NAME " +
	"--role manager`, " +
	"or say console.open: true in studio.yaml if everybody may read names and enter what they like")

// New makes the gate of a console.
func New(o Options) (*Gate, error) {
	g := &Gate{o: o, now: o.Now, live: map[int]liveRequest{}, saw: map[string]time.Time{}, routes: tableMux()}
	if g.now == nil {
		g.now = time.Now
	}
	if g.o.Logger == nil {
		g.o.Logger = slog.New(slog.DiscardHandler)
	}
	g.rates = newRates(g.now)
	var err error
	if g.trail, err = OpenTrail(filepath.Join(o.Dir, "trail")); err != nil {
		return nil, err
	}
	if g.book, err = OpenBook(o.Dir); err != nil {
		return nil, err
	}
	if g.kept, err = openSessions(filepath.Join(o.Dir, "sessions.json"), g.now); err != nil {
		return nil, err
	}
	g.sessions = newSessions(g.kept, o.Secure)
	if g.token, err = EnsureToken(o.TokenFile); err != nil {
		return nil, err
	}
	if g.elsewhere, err = newElsewhere(o.Provider, g.now); err != nil {
		return nil, err
	}
	if g.pages, err = parsePages(); err != nil {
		return nil, err
	}
	g.own = g.ownPages()
	accounts, err := g.book.Accounts()
	if err != nil {
		return nil, err
	}
	if !o.Open && len(accounts) == 0 {
		if !Loopback(o.Listen) {
			return nil, ErrNobodyMay
		}
		g.setup = newCode(12)
	}
	return g, nil
}

// FirstPage is where the first account is made; empty: there is one, or nobody
// is asked.
func (g *Gate) FirstPage(address string) string {
	if g.setup == "" {
		return ""
	}
	scheme := "http://"
	if g.o.Secure {
		scheme = "https://"
	}
	return scheme + address + "/gate/first?code=" + shownCode(g.setup)
}

// Loopback says whether an address to listen on is reached from this machine alone.
func Loopback(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return false
	}
	if host == "localhost" {
		return true
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.IsLoopback()
}

// EnsureToken reads the token of the hub's tools, and makes it if it is not there.
func EnsureToken(path string) (string, error) {
	token, err := ReadToken(path)
	if err == nil || !errors.Is(err, os.ErrNotExist) {
		return token, err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return "", fmt.Errorf("token of the console: %w", err)
	}
	token = "fairlead-" + rand.Text() + rand.Text()
	if err := durable.WriteFile(path, []byte(token+"\n"), 0o600); err != nil {
		return "", fmt.Errorf("token of the console: %w", err)
	}
	return token, nil
}

// ReadToken reads a token from a file that nobody else can read.
func ReadToken(path string) (string, error) {
	if err := Closed(path); err != nil {
		return "", fmt.Errorf("token: %w", err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("token: %w", err)
	}
	token := strings.TrimSpace(string(text))
	if len(token) < 20 {
		return "", fmt.Errorf("token %s: it holds no token: remove it and start the console again", path)
	}
	return token, nil
}

// note writes a line of the trail. One that can't be written is an error in the
// log: the work goes on.
func (g *Gate) note(i *Identity, r *http.Request, what, about string) {
	m := Mark{At: g.now(), From: addressOf(r), What: what, About: about}
	if i != nil {
		m.Who, m.Device = i.Person, i.Device
	}
	if err := g.trail.Add(m); err != nil {
		g.o.Logger.Error("the trail can't be written", "what", what, "error", err)
	}
}

// Note has the trail say what someone did.
func (g *Gate) Note(r *http.Request, what, about string) {
	if g == nil {
		return
	}
	g.note(From(r.Context()), r, what, about)
}

// sawAgain is how often the trail says again that someone saw a page.
const sawAgain = 10 * time.Minute

// notedLately says whether the trail was told of it within sawAgain, and takes note.
func (g *Gate) notedLately(key string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	if at, ok := g.saw[key]; ok && now.Sub(at) < sawAgain {
		return true
	}
	if len(g.saw) > 5000 {
		clear(g.saw)
	}
	g.saw[key] = now
	return false
}

// MayTry says whether a secret of some kind may be tried from where a request comes.
func (g *Gate) MayTry(r *http.Request, kind string) bool {
	return g.rates.may(kind + " " + addressOf(r))
}

func addressOf(r *http.Request) string {
	if host, _, err := net.SplitHostPort(r.RemoteAddr); err == nil {
		return host
	}
	return r.RemoteAddr
}
