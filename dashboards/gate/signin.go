package gate

import (
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"
)

const tooOften = "too many tries: wait a minute, then try again"

// wrong is what a failed sign-in says, whatever was wrong.
const wrong = "name and password do not go together: look at both, or have a manager reset the account"

// showIn is the page to sign in: by name and password, and on a paired tablet by
// a tap on a name and the PIN.
func (g *Gate) showIn(w http.ResponseWriter, r *http.Request, code int, problem string) {
	if g.setup != "" && g.nobodyYet() {
		http.Redirect(w, r, "/gate/first", http.StatusSeeOther)
		return
	}
	v := view{Title: "Sign in", Error: problem, To: within(r.FormValue("to")), Name: r.FormValue("name")}
	if d := deviceOf(r); d != nil && !d.Screen {
		accounts, err := g.book.Accounts()
		if err != nil {
			g.o.Logger.Error("accounts", "error", err)
		}
		v.Accounts = slices.DeleteFunc(accounts, func(a Account) bool { return a.PIN == "" })
	}
	if i := From(r.Context()); i != nil {
		v.Now = i.Name
	}
	if g.elsewhere != nil {
		v.Provider = g.elsewhere.Name
	}
	g.show(w, r, code, "in.html", v)
}

func (g *Gate) nobodyYet() bool {
	accounts, err := g.book.Accounts()
	return err == nil && len(accounts) == 0
}

func (g *Gate) signIn(w http.ResponseWriter, r *http.Request) {
	name := strings.Join(strings.Fields(r.PostFormValue("name")), " ")
	if !g.rates.may("in "+addressOf(r), "in "+addressOf(r)+" "+strings.ToLower(name)) {
		g.tooOften(w, r)
		g.showIn(w, r, http.StatusTooManyRequests, tooOften)
		return
	}
	password := r.PostFormValue("password")
	if len(password) > mostPassword || len(name) > mostPassword {
		g.showIn(w, r, http.StatusUnprocessableEntity, wrong)
		return
	}
	a, err := g.book.byPassword(name, password)
	if err != nil {
		g.broken(w, r, err)
		return
	}
	if a == nil {
		about := ""
		if p, err := g.book.all(); err == nil {
			if known := p.named(name); known != nil {
				about = known.ID // what strangers typed may be a password in the wrong field
			}
		}
		g.note(nil, r, "failed to sign in", about)
		g.showIn(w, r, http.StatusUnprocessableEntity, wrong)
		return
	}
	g.enter(w, r, a, false)
}

// tooOften has the trail say once in a while that someone tries too often.
func (g *Gate) tooOften(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Retry-After", "60")
	if !g.notedLately("too often " + addressOf(r)) {
		g.note(nil, r, "tried too often", r.URL.Path)
	}
}

// enter begins a session and goes on to where someone wanted to go.
func (g *Gate) enter(w http.ResponseWriter, r *http.Request, a *Account, byPIN bool) {
	how := "signed in"
	if byPIN {
		how = "signed in by PIN"
	}
	g.enterTo(w, r, a, byPIN, how, within(r.PostFormValue("to")))
}

func (g *Gate) enterTo(w http.ResponseWriter, r *http.Request, a *Account, byPIN bool, how, to string) {
	device := deviceOf(r)
	if device != nil && device.Screen {
		device = nil // a screen's key is not a tablet's
	}
	if err := g.begin(w, r, a, device, byPIN); err != nil {
		g.broken(w, r, err)
		return
	}
	i := &Identity{Person: a.ID, Device: "browser"}
	if device != nil {
		i.Device = device.ID
	}
	g.note(i, r, how, "")
	if to == "/" {
		to = homeOf(a.Roles)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func (g *Gate) broken(w http.ResponseWriter, r *http.Request, err error) {
	g.o.Logger.Error("the gate can't keep something", "error", err)
	g.show(w, r, http.StatusServiceUnavailable, "refused.html",
		view{Title: "Not now", Error: "this can't be kept now; the console's log says why: " + err.Error(), Home: "/"})
}

// byPIN switches a paired tablet to another person.
func (g *Gate) byPIN(w http.ResponseWriter, r *http.Request) {
	device := deviceOf(r)
	if device == nil || device.Screen {
		g.showIn(w, r, http.StatusForbidden, "a PIN is taken on a paired tablet only: pair this one first, or sign in with your password")
		return
	}
	id := r.PostFormValue("id")
	if !g.rates.may("pin " + device.ID) {
		g.tooOften(w, r)
		g.showIn(w, r, http.StatusTooManyRequests, tooOften)
		return
	}
	a, err := g.book.byPIN(id, r.PostFormValue("pin"))
	switch {
	case errors.Is(err, errLocked):
		g.showIn(w, r, http.StatusUnprocessableEntity, err.Error())
	case err != nil:
		g.broken(w, r, err)
	case a == nil:
		g.note(&Identity{Device: device.ID}, r, "failed to sign in by PIN", id)
		g.showIn(w, r, http.StatusUnprocessableEntity, "that is not the PIN: try again, or sign in with the password")
	default:
		g.enter(w, r, a, true)
	}
}

func (g *Gate) signOut(w http.ResponseWriter, r *http.Request) {
	g.note(From(r.Context()), r, "signed out", "")
	g.end(r)
	http.SetCookie(w, &http.Cookie{Name: g.sessions.Cookie.Name, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteLaxMode,
		Secure: g.o.Secure})
	http.Redirect(w, r, "/gate/in?to="+within(r.PostFormValue("to")), http.StatusSeeOther)
}

// showFirst is the page on which the owner of a new studio makes their account.
func (g *Gate) showFirst(w http.ResponseWriter, r *http.Request, code int, problem string) {
	if g.setup == "" || !g.nobodyYet() {
		http.Redirect(w, r, "/gate/in", http.StatusSeeOther)
		return
	}
	g.show(w, r, code, "first.html", view{Title: "The first account", Error: problem, Code: r.FormValue("code"), Name: r.FormValue("name")})
}

func (g *Gate) makeFirst(w http.ResponseWriter, r *http.Request) {
	if !g.rates.may("code " + addressOf(r)) {
		g.tooOften(w, r)
		g.showFirst(w, r, http.StatusTooManyRequests, tooOften)
		return
	}
	if g.setup == "" || sumOf(plainCode(r.PostFormValue("code"))) != sumOf(g.setup) {
		g.showFirst(w, r, http.StatusUnprocessableEntity, "that is not the code: the console's log on the hub shows it")
		return
	}
	if r.PostFormValue("password") != r.PostFormValue("again") {
		g.showFirst(w, r, http.StatusUnprocessableEntity, "the two passwords differ: type them again")
		return
	}
	a, err := g.book.first(r.PostFormValue("name"), r.PostFormValue("password"), r.PostFormValue("pin"), g.now())
	if err != nil {
		g.showFirst(w, r, http.StatusUnprocessableEntity, err.Error())
		return
	}
	g.note(&Identity{Person: a.ID, Device: "browser"}, r, "made the first account", a.ID)
	g.enter(w, r, &a, false)
}

// showJoin is the page on which someone with a code chooses a password.
func (g *Gate) showJoin(w http.ResponseWriter, r *http.Request, code int, problem string) {
	g.show(w, r, code, "join.html", view{Title: "Choose a password", Error: problem, Code: r.FormValue("code")})
}

func (g *Gate) join(w http.ResponseWriter, r *http.Request) {
	if !g.rates.may("code " + addressOf(r)) {
		g.tooOften(w, r)
		g.showJoin(w, r, http.StatusTooManyRequests, tooOften)
		return
	}
	password := r.PostFormValue("password")
	if password == "" || password != r.PostFormValue("again") {
		g.showJoin(w, r, http.StatusUnprocessableEntity, "give the same password twice")
		return
	}
	a, err := g.book.join(r.PostFormValue("code"), password, r.PostFormValue("pin"), g.now())
	if err != nil {
		g.showJoin(w, r, http.StatusUnprocessableEntity, err.Error())
		return
	}
	g.note(&Identity{Person: a.ID, Device: "browser"}, r, "chose a password", "")
	g.enter(w, r, &a, false)
}

// showPair is the page on which a tablet is paired.
func (g *Gate) showPair(w http.ResponseWriter, r *http.Request, code int, problem string) {
	g.show(w, r, code, "pair.html", view{Title: "Pair this tablet", Error: problem, Code: r.FormValue("code")})
}

// deviceFor is how long a tablet stays paired; each use of it within a month of
// the end would be too late to notice, so it is long, and revoked by hand.
const deviceFor = 400 * 24 * time.Hour

func (g *Gate) pair(w http.ResponseWriter, r *http.Request) {
	if !g.rates.may("code " + addressOf(r)) {
		g.tooOften(w, r)
		g.showPair(w, r, http.StatusTooManyRequests, tooOften)
		return
	}
	d, key, err := g.book.redeem(r.PostFormValue("code"), g.now())
	if err != nil {
		g.showPair(w, r, http.StatusUnprocessableEntity, err.Error())
		return
	}
	g.end(r)
	http.SetCookie(w, &http.Cookie{Name: deviceCookie, Value: key, Path: "/", MaxAge: int(deviceFor / time.Second), HttpOnly: true,
		SameSite: http.SameSiteLaxMode, Secure: g.o.Secure})
	g.note(&Identity{Device: d.ID}, r, "was paired", d.ID)
	to := "/gate/in"
	if d.Screen {
		to = "/gate/home"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}
