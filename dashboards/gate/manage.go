package gate

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"slices"
	"strings"
	"time"
)

// sessionRow is one session of an account, for its owner.
type sessionRow struct {
	Device, From string
	token        string // as it is kept
	Begun        time.Time
	This, PIN    bool
}

// sessionsOf lists an account's sessions.
func (g *Gate) sessionsOf(person string, own string) (out []sessionRow) {
	all, _ := g.kept.All()
	p, err := g.book.all()
	if err != nil {
		return nil
	}
	for token, data := range all {
		_, values, err := g.sessions.Codec.Decode(data)
		if err != nil || values[keyPerson] != person {
			continue
		}
		begun, _ := values[keyBegun].(int64)
		a := p.account(person)
		if a == nil || time.Unix(0, begun).Before(a.Since) {
			continue
		}
		row := sessionRow{token: token, Device: "a browser", Begun: time.Unix(0, begun), This: token == own}
		row.From, _ = values[keyFrom].(string)
		row.PIN, _ = values[keyPIN].(bool)
		if id, _ := values[keyDevice].(string); id != "" {
			row.Device = g.deviceName(id)
		}
		out = append(out, row)
	}
	slices.SortFunc(out, func(a, b sessionRow) int { return b.Begun.Compare(a.Begun) })
	return out
}

// ID is what the session is called on its owner's page: nothing that opens it.
func (s sessionRow) ID() string {
	sum := sha256.Sum256([]byte("row of " + s.token))
	return hex.EncodeToString(sum[:8])
}

// endSession ends one of the account's own sessions, and hangs up its live pages.
func (g *Gate) endSession(w http.ResponseWriter, r *http.Request) {
	i := From(r.Context())
	own := g.sessionsOf(i.Person, i.session)
	at := slices.IndexFunc(own, func(s sessionRow) bool { return s.ID() == r.PathValue("session") })
	if i.Person == "" || at < 0 {
		g.showMe(w, r, http.StatusNotFound, "that session has ended already", "")
		return
	}
	token := own[at].token
	if err := g.kept.Delete(token); err != nil {
		g.broken(w, r, err)
		return
	}
	g.hangUp(func(o *Identity) bool { return o.session == token })
	g.note(i, r, "ended a session", i.Person)
	http.Redirect(w, r, "/gate/me", http.StatusSeeOther)
}

func (g *Gate) deviceName(id string) string {
	p, err := g.book.all()
	if err != nil {
		return id
	}
	for _, d := range p.Devices {
		if d.ID == id {
			return d.Name
		}
	}
	return id
}

func (g *Gate) showMe(w http.ResponseWriter, r *http.Request, code int, problem, said string) {
	i := From(r.Context())
	v := view{Title: "Your account", Error: problem, Said: said, Name: i.Name, Sessions: g.sessionsOf(i.Person, i.session),
		Manages: i.Has(Manager)}
	if p, err := g.book.all(); err == nil {
		if a := p.account(i.Person); a != nil {
			v.HasPIN = a.PIN != ""
		}
	}
	g.show(w, r, code, "me.html", v)
}

// changeMe gives its owner's account a new password, PIN, or ends its other sessions.
func (g *Gate) changeMe(w http.ResponseWriter, r *http.Request) {
	i := From(r.Context())
	if i.Person == "" || i.Hub {
		g.refused(w, r, i, "this is for people's accounts")
		return
	}
	if !g.rates.may("in " + addressOf(r)) {
		g.tooOften(w, r)
		g.showMe(w, r, http.StatusTooManyRequests, tooOften, "")
		return
	}
	p, err := g.book.all()
	if err != nil {
		g.broken(w, r, err)
		return
	}
	a := p.account(i.Person)
	if a == nil || !matches(a.Password, r.PostFormValue("old")) {
		g.showMe(w, r, http.StatusUnprocessableEntity, "that is not your password: nothing was changed", "")
		return
	}
	password, pin := r.PostFormValue("password"), r.PostFormValue("pin")
	if password != r.PostFormValue("again") {
		g.showMe(w, r, http.StatusUnprocessableEntity, "the two new passwords differ: nothing was changed", "")
		return
	}
	if password == "" && pin == "" {
		g.showMe(w, r, http.StatusUnprocessableEntity, "give a new password, a new PIN, or both", "")
		return
	}
	if err := g.book.choose(i.Person, password, pin, g.now()); err != nil {
		g.showMe(w, r, http.StatusUnprocessableEntity, err.Error(), "")
		return
	}
	g.note(i, r, "changed password or PIN", i.Person)
	if password != "" { // every session ended, this one too: it begins anew
		g.hangUp(func(o *Identity) bool { return o.Person == i.Person })
		if err := g.begin(w, r, a, tabletOf(r), false); err != nil {
			g.broken(w, r, err)
			return
		}
	}
	http.Redirect(w, r, "/gate/me", http.StatusSeeOther)
}

func tabletOf(r *http.Request) *Device {
	if d := deviceOf(r); d != nil && !d.Screen {
		return d
	}
	return nil
}

func (g *Gate) showPeople(w http.ResponseWriter, r *http.Request, code int, v view) {
	accounts, err := g.book.Accounts()
	if err != nil {
		g.broken(w, r, err)
		return
	}
	v.Title, v.Accounts = "Accounts", accounts
	if g.elsewhere != nil {
		v.Provider = g.elsewhere.Name
	}
	g.show(w, r, code, "accounts.html", v)
}

func (g *Gate) addPerson(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		g.showPeople(w, r, http.StatusBadRequest, view{Error: "the form can't be read: open it again"})
		return
	}
	roles, err := ParseRoles(strings.Join(r.PostForm["role"], ","))
	var made Invited
	if err == nil {
		made, err = g.book.Add(strings.TrimSpace(r.PostForm.Get("id")), r.PostForm.Get("name"), roles, g.now())
	}
	if err != nil {
		g.showPeople(w, r, http.StatusUnprocessableEntity, view{Error: err.Error(), Name: r.PostForm.Get("name")})
		return
	}
	g.Note(r, "made an account", made.ID+" "+joined(roles))
	g.showPeople(w, r, http.StatusOK, view{Said: made.Name, Code: made.Code, Until: made.Until})
}

// changePerson resets, revokes or gives other roles.
func (g *Gate) changePerson(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	_ = r.ParseForm()
	var v view
	var err error
	switch r.PathValue("act") {
	case "reset":
		var made Invited
		if made, err = g.book.Reset(id, g.now()); err == nil {
			v.Said, v.Code, v.Until = made.Name, made.Code, made.Until
			g.Note(r, "reset an account", id)
			g.hangUp(func(i *Identity) bool { return i.Person == id })
		}
	case "revoke":
		if _, err = g.book.Revoke(id, g.now()); err == nil {
			g.Note(r, "revoked an account", id)
			g.hangUp(func(i *Identity) bool { return i.Person == id })
		}
	case "roles":
		var roles []Role
		if roles, err = ParseRoles(strings.Join(r.PostForm["role"], ",")); err == nil {
			if _, err = g.book.Assign(id, roles); err == nil {
				g.Note(r, "gave roles", id+" "+joined(roles))
				g.hangUp(func(i *Identity) bool { return i.Person == id })
			}
		}
	case "login":
		if _, err = g.book.Provided(id, r.PostForm.Get("login"), g.now()); err == nil {
			g.Note(r, "gave a sign-in name", id)
			g.hangUp(func(i *Identity) bool { return i.Person == id })
		}
	default:
		http.NotFound(w, r)
		return
	}
	if err != nil {
		v.Error = err.Error()
		g.showPeople(w, r, http.StatusUnprocessableEntity, v)
		return
	}
	if v.Code != "" {
		g.showPeople(w, r, http.StatusOK, v)
		return
	}
	http.Redirect(w, r, "/gate/people", http.StatusSeeOther)
}

func (g *Gate) showDevices(w http.ResponseWriter, r *http.Request, code int, v view) {
	devices, err := g.book.Devices()
	if err != nil {
		g.broken(w, r, err)
		return
	}
	v.Title, v.Devices, v.Names = "Tablets and screens", devices, g.names()
	g.show(w, r, code, "devices.html", v)
}

func (g *Gate) newPairing(w http.ResponseWriter, r *http.Request) {
	code, until, err := g.book.Pair(r.PostFormValue("name"), r.PostFormValue("kind") == "screen", From(r.Context()).Person, g.now())
	if err != nil {
		g.showDevices(w, r, http.StatusUnprocessableEntity, view{Error: err.Error(), Name: r.PostFormValue("name")})
		return
	}
	g.Note(r, "made a code to pair a device", "")
	g.showDevices(w, r, http.StatusOK, view{Code: code, Until: until, Said: r.PostFormValue("name")})
}

func (g *Gate) revokeDevice(w http.ResponseWriter, r *http.Request) {
	id, err := g.book.RevokeDevice(r.PathValue("id"), g.now())
	if err != nil {
		g.showDevices(w, r, http.StatusNotFound, view{Error: err.Error()})
		return
	}
	g.Note(r, "revoked a device", id)
	g.hangUp(func(i *Identity) bool { return i.Device == id })
	http.Redirect(w, r, "/gate/devices", http.StatusSeeOther)
}

// names are those of accounts and devices, revoked ones included, by id.
func (g *Gate) names() map[string]string {
	names := map[string]string{"hub": "the hub’s terminal", "browser": "a browser", "": "nobody signed in"}
	if p, err := g.book.all(); err == nil {
		for _, a := range p.Accounts {
			names[a.ID] = a.Name
		}
		for _, d := range p.Devices {
			names[d.ID] = d.Name
		}
	}
	return names
}

// mostMarks is how much of the trail a page shows.
const mostMarks = 300

func (g *Gate) showTrail(w http.ResponseWriter, r *http.Request) {
	find := strings.ToLower(strings.TrimSpace(r.FormValue("find")))
	names := g.names()
	marks, err := g.trail.Latest(mostMarks, func(m Mark) bool {
		return find == "" || strings.Contains(strings.ToLower(strings.Join([]string{m.Who, names[m.Who], names[m.Device], m.From, m.What,
			m.About}, " ")), find)
	})
	v := view{Title: "Trail", Marks: marks, Names: names, Find: r.FormValue("find"), Wide: true}
	if err == nil {
		_, err = g.trail.Verify()
	}
	if err != nil {
		v.Error = err.Error()
	}
	g.show(w, r, http.StatusOK, "trail.html", v)
}
