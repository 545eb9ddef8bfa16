package stream

import (
	"strings"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

// OldKey is a key that another one follows and that somebody still goes by.
type OldKey struct {
	Name  string    // of the key, without the mark of the old one
	Since time.Time // when the other one was made
	Until time.Time // it is taken
}

// Spent is the share of the time for which both are taken that is over.
func (o OldKey) Spent(now time.Time) float64 {
	whole := o.Until.Sub(o.Since)
	if whole <= 0 {
		return 1
	}
	return min(max(now.Sub(o.Since).Seconds()/whole.Seconds(), 0), 1)
}

// overlapUsual is how long both keys are taken where a grant of before does not say
// since when.
const overlapUsual = 24 * time.Hour

// OldKeys lists those that connections go by now.
func (b *Broker) OldKeys() (out []OldKey) {
	if b.keyring == nil {
		return nil
	}
	grants, _ := b.keyring.Grants(time.Now()) // what can't be read is told where keys are applied
	old := map[string]OldKey{}
	for _, g := range grants {
		if o, is := g.old(); is {
			old[g.Key] = o
		}
	}
	if len(old) == 0 {
		return nil
	}
	all, err := b.server.Connz(&server.ConnzOptions{Username: true, Limit: 1 << 16})
	if err != nil {
		return nil // it never is
	}
	for _, c := range all.Conns {
		if o, is := old[c.AuthorizedUser]; is {
			out = append(out, o)
			delete(old, c.AuthorizedUser)
		}
	}
	return out
}

// old says that a grant is that of a key which another one follows.
func (g Grant) old() (OldKey, bool) {
	name, is := strings.CutSuffix(g.Name, previous)
	if !is || g.Until == nil {
		return OldKey{}, false
	}
	o := OldKey{Name: name, Since: g.Until.Add(-overlapUsual), Until: *g.Until}
	if g.Followed != nil {
		o.Since = *g.Followed
	}
	return o, true
}

// OldUntil is until when the old secret of a key is taken; false: it has none.
func (k Keyring) OldUntil(name string) (time.Time, bool) {
	g, err := k.grant(name + previous)
	if err != nil || g.Until == nil {
		return time.Time{}, false
	}
	return *g.Until, true
}
