package gate

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"net/http"
	"slices"
	"strings"
	"time"
)

// Keys of a session's values.
const (
	keyPerson, keyDevice, keyBegun, keySeen, keyPIN, keyFrom = "person", "device", "begun", "seen", "pin", "from"
	deviceCookie                                             = "fairlead_device"
)

// identify says who asks: the hub's tools by their token, a person by session, a
// screen by its key; nil: nobody who is known. The device is known by itself too.
func (g *Gate) identify(r *http.Request) (*Identity, *Device, error) {
	from := addressOf(r)
	if bearer, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
		if subtle.ConstantTimeCompare([]byte(sumOf(bearer)), []byte(sumOf(g.token))) == 1 {
			return &Identity{Person: "hub", Name: "the hub", Roles: Roles, Device: "hub", Hub: true, From: from}, nil, nil
		}
		return nil, nil, nil
	}
	p, err := g.book.all()
	if err != nil {
		return nil, nil, err
	}
	var device *Device
	if c, err := r.Cookie(deviceCookie); err == nil {
		device = p.device(c.Value)
	}
	if i := g.bySession(r, &p, device); i != nil {
		return i, device, nil
	}
	if device != nil && device.Screen {
		return &Identity{Name: device.Name, Roles: []Role{Guest}, Device: device.ID, Paired: true, From: from}, device, nil
	}
	return nil, device, nil
}

// bySession is whom a session's cookie stands for, if its account and device
// still may.
func (g *Gate) bySession(r *http.Request, p *people, device *Device) *Identity {
	c, err := r.Cookie(g.sessions.Cookie.Name)
	if err != nil || len(c.Value) > 100 {
		return nil
	}
	ctx, err := g.sessions.Load(r.Context(), c.Value)
	if err != nil || g.sessions.Token(ctx) == "" {
		return nil
	}
	a := p.account(g.sessions.GetString(ctx, keyPerson))
	now := g.now()
	begun, seen := time.Unix(0, g.sessions.GetInt64(ctx, keyBegun)), time.Unix(0, g.sessions.GetInt64(ctx, keySeen))
	if a == nil || begun.Before(a.Since) || now.Sub(seen) > idleFor || now.Sub(begun) > sessionFor {
		return nil
	}
	i := &Identity{Person: a.ID, Name: a.Name, Roles: a.Roles, Device: "browser", ByPIN: g.sessions.GetBool(ctx, keyPIN), From: addressOf(r),
		session: storedToken(c.Value)}
	if on := g.sessions.GetString(ctx, keyDevice); on != "" {
		if device == nil || device.ID != on {
			return nil // revoked, or the session's cookie was carried elsewhere
		}
		i.Device, i.Paired = device.ID, true
	}
	if now.Sub(seen) > touchEach && !strings.HasSuffix(r.URL.Path, "/live") && r.URL.Path != "/gate/still" {
		g.sessions.Put(ctx, keySeen, now.UnixNano())
		if _, _, err := g.sessions.Commit(ctx); err != nil {
			g.o.Logger.Error("a session can't be kept", "error", err)
		}
	}
	return i
}

// begin begins a session and writes its cookie; the one before ends.
func (g *Gate) begin(w http.ResponseWriter, r *http.Request, a *Account, device *Device, byPIN bool) error {
	g.end(r)
	ctx, err := g.sessions.Load(r.Context(), "")
	if err != nil {
		return err
	}
	now := g.now().UnixNano()
	g.sessions.Put(ctx, keyPerson, a.ID)
	g.sessions.Put(ctx, keyBegun, now)
	g.sessions.Put(ctx, keySeen, now)
	g.sessions.Put(ctx, keyPIN, byPIN)
	g.sessions.Put(ctx, keyFrom, addressOf(r))
	if device != nil {
		g.sessions.Put(ctx, keyDevice, device.ID)
	}
	token, expiry, err := g.sessions.Commit(ctx)
	if err != nil {
		return err
	}
	g.sessions.WriteSessionCookie(r.Context(), w, token, expiry)
	if g.Joined != nil {
		g.Joined(*a)
	}
	return nil
}

// end ends the session of a request, and its live pages.
func (g *Gate) end(r *http.Request) {
	c, err := r.Cookie(g.sessions.Cookie.Name)
	if err != nil {
		return
	}
	if ctx, err := g.sessions.Load(r.Context(), c.Value); err == nil && g.sessions.Token(ctx) != "" {
		if err := g.sessions.Destroy(ctx); err != nil {
			g.o.Logger.Error("a session can't be ended", "error", err)
		}
	}
	g.hangUp(func(i *Identity) bool { return i.session == storedToken(c.Value) })
}

// hangUp ends the live requests of who may no longer look.
func (g *Gate) hangUp(whose func(*Identity) bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, l := range g.live {
		if whose(l.is) {
			l.end()
		}
	}
}

// watched lets a live request end with the session that asked for it.
func (g *Gate) watched(ctx context.Context, i *Identity) (context.Context, func()) {
	ctx, end := context.WithCancel(ctx)
	g.mu.Lock()
	defer g.mu.Unlock()
	g.n++
	n := g.n
	g.live[n] = liveRequest{i, end}
	return ctx, func() {
		g.mu.Lock()
		defer g.mu.Unlock()
		delete(g.live, n)
		end()
	}
}

// Run ends live requests of sessions that ended elsewhere (by the hub's terminal,
// by time), until ctx ends.
func (g *Gate) Run(ctx context.Context) {
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		p, err := g.book.all()
		g.hangUp(func(i *Identity) bool {
			if err != nil {
				return !i.Hub
			}
			if i.Person != "" && !i.Hub && p.account(i.Person) == nil {
				return true
			}
			return i.Paired && !slices.ContainsFunc(p.Devices, func(d Device) bool { return d.ID == i.Device && d.Revoked.IsZero() }) ||
				i.session != "" && !g.holds(i, &p)
		})
	}
}

// holds says whether a session still counts.
func (g *Gate) holds(i *Identity, p *people) bool {
	data, ok, err := g.kept.Find(i.session)
	if err != nil || !ok {
		return false
	}
	_, values, err := g.sessions.Codec.Decode(data)
	if err != nil {
		return false
	}
	begun, _ := values[keyBegun].(int64)
	seen, _ := values[keySeen].(int64)
	a := p.account(i.Person)
	return a != nil && !time.Unix(0, begun).Before(a.Since) && g.now().Sub(time.Unix(0, seen)) <= idleFor
}

// storedToken is what the session manager keeps a token under.
func storedToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}
