package gate

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"time"
)

// ErrNobody says that no account is meant.
var ErrNobody = errors.New("no such account")

var accountID = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._:-]{0,63}$`)

// Invited is an account whose owner chooses a password with a code.
type Invited struct {
	Account Account   `json:"-"`
	ID      string    `json:"id"`
	Name    string    `json:"name"`
	Code    string    `json:"code"` // told this once
	Until   time.Time `json:"until"`
}

// Add makes an account, and a code with which its owner chooses a password. id
// may be a fitter's pseudonym of before; empty: a fresh one.
func (b *Book) Add(id, name string, roles []Role, now time.Time) (Invited, error) {
	name, err := CheckName(name)
	if err != nil {
		return Invited{}, err
	}
	if id != "" && !accountID.MatchString(id) {
		return Invited{}, fmt.Errorf("id %q: use 1 to 64 letters, digits, '.', '_', ':' and '-', as f-7kq2m", id)
	}
	if len(roles) == 0 {
		return Invited{}, fmt.Errorf("%s has no role: give one of %s", name, joined(Roles))
	}
	var out Invited
	err = b.change(func(p *people) error {
		if p.named(name) != nil {
			return fmt.Errorf("%s has an account: reset it, or write the name so that both can be told apart", name)
		}
		if id == "" {
			id = "f-" + newCode(6)
		}
		if slices.ContainsFunc(p.Accounts, func(a Account) bool { return a.ID == id }) {
			return fmt.Errorf("id %s is an account's: leave it out for a fresh one", id)
		}
		p.Accounts = append(p.Accounts, Account{ID: id, Name: name, Roles: roles, Made: now.UTC().Truncate(time.Second)})
		out = p.invite(id, now)
		return nil
	})
	return out, err
}

// invite gives an account a code.
func (p *people) invite(id string, now time.Time) Invited {
	a := p.account(id)
	code := newCode(12)
	a.Invite, a.InviteUntil = sumOf(code), now.UTC().Add(inviteFor).Truncate(time.Second)
	return Invited{Account: *a, ID: a.ID, Name: a.Name, Code: shownCode(code), Until: a.InviteUntil}
}

// Reset ends an account's password, PIN and sessions, and gives a code for new ones.
func (b *Book) Reset(who string, now time.Time) (out Invited, err error) {
	err = b.change(func(p *people) error {
		a := p.named(who)
		if a == nil {
			return fmt.Errorf("%w: %s", ErrNobody, who)
		}
		a.Password, a.PIN, a.WrongPIN, a.Since = "", "", 0, now.UTC()
		out = p.invite(a.ID, now)
		return nil
	})
	return out, err
}

// Revoke ends an account and its sessions. The last manager stays.
func (b *Book) Revoke(who string, now time.Time) (id string, err error) {
	err = b.change(func(p *people) error {
		a := p.named(who)
		if a == nil {
			return fmt.Errorf("%w: %s", ErrNobody, who)
		}
		if slices.Contains(a.Roles, Manager) && p.managers() == 1 {
			return fmt.Errorf("%s is the last manager: give another one an account first", a.Name)
		}
		a.Revoked, a.Since, a.Password, a.PIN, a.Invite, id = now.UTC(), now.UTC(), "", "", "", a.ID
		a.Login, a.Subject = "", ""
		return nil
	})
	return id, err
}

// Assign gives an account its roles. The last manager stays one.
func (b *Book) Assign(who string, roles []Role) (id string, err error) {
	err = b.change(func(p *people) error {
		a := p.named(who)
		if a == nil {
			return fmt.Errorf("%w: %s", ErrNobody, who)
		}
		if slices.Contains(a.Roles, Manager) && !slices.Contains(roles, Manager) && p.managers() == 1 {
			return fmt.Errorf("%s is the last manager: make another one first", a.Name)
		}
		a.Roles, id = roles, a.ID
		return nil
	})
	return id, err
}

func (p *people) managers() (n int) {
	for _, a := range p.Accounts {
		if a.Revoked.IsZero() && slices.Contains(a.Roles, Manager) {
			n++
		}
	}
	return n
}

// Accounts lists who may sign in, by name.
func (b *Book) Accounts() ([]Account, error) {
	p, err := b.all()
	out := slices.DeleteFunc(slices.Clone(p.Accounts), func(a Account) bool { return !a.Revoked.IsZero() })
	slices.SortFunc(out, func(a, b Account) int { return cmpFold(a.Name, b.Name) })
	return out, err
}

// Devices lists those that are paired.
func (b *Book) Devices() ([]Device, error) {
	p, err := b.all()
	return slices.DeleteFunc(slices.Clone(p.Devices), func(d Device) bool { return !d.Revoked.IsZero() }), err
}

// Pair makes a code by which one device is paired within ten minutes.
func (b *Book) Pair(name string, screen bool, by string, now time.Time) (code string, until time.Time, err error) {
	if name, err = CheckName(name); err != nil {
		return "", until, err
	}
	err = b.change(func(p *people) error {
		p.Pairings = slices.DeleteFunc(p.Pairings, func(x Pairing) bool { return x.Until.Before(now) })
		if len(p.Pairings) >= 20 {
			return errors.New("twenty codes wait to be used: use them, or wait ten minutes")
		}
		if slices.ContainsFunc(p.Devices, func(d Device) bool { return d.Name == name && d.Revoked.IsZero() }) {
			return fmt.Errorf("a device goes by the name %s: revoke it, or choose another", name)
		}
		code, until = newCode(8), now.UTC().Add(pairFor).Truncate(time.Second)
		p.Pairings = append(p.Pairings, Pairing{Code: sumOf(code), Name: name, Screen: screen, By: by, Until: until})
		return nil
	})
	return shownCode(code), until, err
}

// redeem makes a device of a code; its key is told this once.
func (b *Book) redeem(code string, now time.Time) (d Device, key string, err error) {
	sum := sumOf(plainCode(code))
	err = b.change(func(p *people) error {
		i := slices.IndexFunc(p.Pairings, func(x Pairing) bool { return x.Code == sum && x.Until.After(now) })
		if i < 0 {
			return errors.New("this code is not known, was used, or its ten minutes are over: have a new one shown on the hub")
		}
		x := p.Pairings[i]
		p.Pairings = slices.Delete(p.Pairings, i, i+1)
		key = newKey()
		d = Device{ID: "d-" + newCode(6), Name: x.Name, Screen: x.Screen, Key: sumOf(key), Made: now.UTC().Truncate(time.Second), By: x.By}
		p.Devices = append(p.Devices, d)
		return nil
	})
	return d, key, err
}

// RevokeDevice ends a device, by its id or name.
func (b *Book) RevokeDevice(which string, now time.Time) (id string, err error) {
	err = b.change(func(p *people) error {
		for i := range p.Devices {
			if d := &p.Devices[i]; (d.ID == which || d.Name == which) && d.Revoked.IsZero() {
				d.Revoked, id = now.UTC(), d.ID
				return nil
			}
		}
		return fmt.Errorf("no device %s is paired", which)
	})
	return id, err
}
