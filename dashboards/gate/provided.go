package gate

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"golang.org/x/oauth2"
)

const noProvider = "people sign in by name and password here: studio.yaml names no provider"

// provides says whether a browser may be sent to the provider or come back from it, and
// shows why not.
func (g *Gate) provides(w http.ResponseWriter, r *http.Request) bool {
	switch {
	case g.elsewhere == nil:
		g.showIn(w, r, http.StatusOK, noProvider)
	case !g.rates.may("in " + addressOf(r)):
		g.tooOften(w, r)
		g.showIn(w, r, http.StatusTooManyRequests, tooOften)
	default:
		return true
	}
	return false
}

// toProvider sends a browser to the provider, with what its answer is held against.
func (g *Gate) toProvider(w http.ResponseWriter, r *http.Request) {
	if !g.provides(w, r) {
		return
	}
	asking, err := g.elsewhere.asking(r, g.o.Secure)
	if err != nil {
		g.notProvided(w, r, http.StatusServiceUnavailable, "can't be reached now: sign in by password, or try again", err)
		return
	}
	state, u, err := g.elsewhere.start(within(r.FormValue("to")))
	if err != nil {
		g.showIn(w, r, http.StatusTooManyRequests, err.Error())
		return
	}
	http.SetCookie(w, g.stateCookie(state, int(underwayFor/time.Second)))
	// prompt: a tablet is shared, and the provider may still know who used it before.
	http.Redirect(w, r, asking.AuthCodeURL(state, oauth2.S256ChallengeOption(u.verifier), oauth2.SetAuthURLParam("nonce", u.nonce),
		oauth2.SetAuthURLParam("prompt", "login")), http.StatusSeeOther)
}

func (g *Gate) stateCookie(value string, age int) *http.Cookie {
	return &http.Cookie{Name: stateCookie, Value: value, Path: "/gate/provider", MaxAge: age, HttpOnly: true, SameSite: http.SameSiteLaxMode,
		Secure: g.o.Secure}
}

// fromProvider takes the provider's answer.
func (g *Gate) fromProvider(w http.ResponseWriter, r *http.Request) {
	if !g.provides(w, r) {
		return
	}
	state := r.FormValue("state")
	cookie, err := r.Cookie(stateCookie)
	http.SetCookie(w, g.stateCookie("", -1))
	if err != nil || state == "" || sumOf(cookie.Value) != sumOf(state) {
		g.notProvided(w, r, http.StatusUnprocessableEntity, "answered a question that this browser did not ask: begin here again", nil)
		return
	}
	u, ok := g.elsewhere.finish(state)
	if !ok {
		g.notProvided(w, r, http.StatusUnprocessableEntity, "answered too late, or twice: begin here again", nil)
		return
	}
	if why := r.FormValue("error"); why != "" || r.FormValue("code") == "" {
		g.notProvided(w, r, http.StatusUnprocessableEntity, "let nobody in: try again, or sign in by password", errors.New(short(why)))
		return
	}
	login, subject, err := g.elsewhere.who(r, g.o.Secure, u)
	if err != nil {
		g.notProvided(w, r, http.StatusUnprocessableEntity, "did not say who you are: the console's log says why", err)
		return
	}
	a, err := g.book.byProvider(login, subject)
	if err != nil {
		g.broken(w, r, err)
		return
	}
	if a == nil {
		g.notProvided(w, r, http.StatusUnprocessableEntity,
			"knows you, and no account here has your sign-in name: ask a manager of this studio to enter it", nil)
		return
	}
	g.enterTo(w, r, a, false, "signed in by the provider", u.to)
}

// notProvided says on the page to sign in why the provider let nobody in.
func (g *Gate) notProvided(w http.ResponseWriter, r *http.Request, code int, why string, err error) {
	if err != nil {
		g.o.Logger.Warn("the provider let nobody in", "issuer", g.elsewhere.Issuer, "error", err)
	}
	g.note(nil, r, "failed to sign in by the provider", "")
	g.showIn(w, r, code, g.elsewhere.Name+" "+why)
}

// byProvider is the account of a sign-in name. The first to come by it is who it
// is from then on: a name that the provider gives to another later opens nothing.
func (b *Book) byProvider(login, subject string) (*Account, error) {
	p, err := b.all()
	if err != nil {
		return nil, err
	}
	a := p.login(login)
	if a == nil || a.Subject != "" && a.Subject != subject {
		return nil, nil
	}
	if a.Subject == subject {
		return a, nil
	}
	err = b.change(func(p *people) error {
		now := p.login(login)
		if now == nil || now.Subject != "" && now.Subject != subject {
			a = nil
			return nil
		}
		now.Subject = subject
		known := *now
		a = &known
		return nil
	})
	return a, err
}

// login finds who may sign in by a name of the provider's.
func (p *people) login(name string) *Account {
	for i := range p.Accounts {
		if a := &p.Accounts[i]; a.Login != "" && strings.EqualFold(a.Login, name) && a.Revoked.IsZero() {
			return a
		}
	}
	return nil
}

// Provided says by what name of the provider's an account signs in; empty: by
// password alone. Whoever came by it before is forgotten, and their sessions end.
func (b *Book) Provided(who, login string, now time.Time) (id string, err error) {
	login = strings.TrimSpace(login)
	if len(login) > 200 || strings.ContainsFunc(login, func(r rune) bool { return r <= ' ' || r == 0x7f }) {
		return "", fmt.Errorf("sign-in name %q: write it as the provider has it, without blanks", short(login))
	}
	err = b.change(func(p *people) error {
		a := p.named(who)
		if a == nil {
			return fmt.Errorf("%w: %s", ErrNobody, who)
		}
		if other := p.login(login); other != nil && other.ID != a.ID {
			return fmt.Errorf("%s is %s's sign-in name", login, other.Name)
		}
		a.Login, a.Subject, a.Since, id = login, "", now.UTC(), a.ID
		return nil
	})
	return id, err
}
