package gate

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

func cmpFold(a, b string) int { return strings.Compare(strings.ToLower(a), strings.ToLower(b)) }

// join has the owner of a code choose a password, and a PIN where one is given.
func (b *Book) join(code, password, pin string, now time.Time) (Account, error) {
	sum := sumOf(plainCode(code))
	mine := func(a Account) bool { return a.Invite == sum && a.Revoked.IsZero() && a.InviteUntil.After(now) }
	p, err := b.all()
	if err != nil {
		return Account{}, err
	}
	i := slices.IndexFunc(p.Accounts, mine)
	if i < 0 {
		return Account{}, errors.New("this code is not known, was used, or its day is over: have a manager reset the account")
	}
	set, err := secrets(p.Accounts[i].Name, password, pin)
	if err != nil {
		return Account{}, err
	}
	var out Account
	err = b.change(func(p *people) error {
		i := slices.IndexFunc(p.Accounts, mine)
		if i < 0 {
			return errors.New("this code was used in this moment")
		}
		a := &p.Accounts[i]
		set(a)
		a.Invite, a.InviteUntil = "", time.Time{}
		out = *a
		return nil
	})
	return out, err
}

// secrets checks and hashes a new password and PIN, before anything is locked.
// An empty one is left as it is.
func secrets(name, password, pin string) (set func(*Account), err error) {
	var passwordHash, pinHash string
	if password != "" || pin == "" {
		if err := checkPassword(password, name); err != nil {
			return nil, err
		}
		passwordHash = hashed(password)
	}
	if pin != "" {
		if err := checkPIN(pin); err != nil {
			return nil, err
		}
		pinHash = hashed(pin)
	}
	return func(a *Account) {
		if passwordHash != "" {
			a.Password = passwordHash
		}
		if pinHash != "" {
			a.PIN, a.WrongPIN = pinHash, 0
		}
	}, nil
}

// first makes the owner of a studio where nobody has an account yet.
func (b *Book) first(name, password, pin string, now time.Time) (Account, error) {
	name, err := CheckName(name)
	if err != nil {
		return Account{}, err
	}
	if password == "" {
		return Account{}, checkPassword("", "")
	}
	set, err := secrets(name, password, pin)
	if err != nil {
		return Account{}, err
	}
	a := Account{ID: "f-" + newCode(6), Name: name, Roles: []Role{Manager, Fitter, Ops}, Made: now.UTC().Truncate(time.Second)}
	set(&a)
	err = b.change(func(p *people) error {
		if len(p.Accounts) > 0 {
			return errors.New("there is an owner: ask them for an account")
		}
		p.Accounts = append(p.Accounts, a)
		return nil
	})
	return a, err
}

// choose gives an account a new password, PIN or both; other sessions of it end
// with a new password.
func (b *Book) choose(id, password, pin string, now time.Time) error {
	p, err := b.all()
	if err != nil {
		return err
	}
	a := p.account(id)
	if a == nil {
		return fmt.Errorf("%w: %s", ErrNobody, id)
	}
	set, err := secrets(a.Name, password, pin)
	if err != nil {
		return err
	}
	return b.change(func(p *people) error {
		a := p.account(id)
		if a == nil {
			return fmt.Errorf("%w: %s", ErrNobody, id)
		}
		if set(a); password != "" {
			a.Since = now.UTC()
		}
		return nil
	})
}

// byPassword is who signs in by name and password; nil: nobody. The PIN is
// unlocked by it.
func (b *Book) byPassword(name, password string) (*Account, error) {
	p, err := b.all()
	if err != nil {
		return nil, err
	}
	a := p.named(name)
	hash := ""
	if a != nil {
		hash = a.Password
	}
	if !matches(hash, password) || a == nil {
		return nil, nil
	}
	out := *a
	if a.WrongPIN > 0 {
		err = b.change(func(p *people) error {
			if a := p.account(out.ID); a != nil {
				a.WrongPIN = 0
			}
			return nil
		})
	}
	return &out, err
}

// errLocked says that a PIN was wrong too often.
var errLocked = errors.New("this PIN was wrong too often and is locked: sign in with the password once, and it works again")

// byPIN is who takes over a paired tablet by PIN; nil: a wrong one, which is counted.
func (b *Book) byPIN(id, pin string) (*Account, error) {
	p, err := b.all()
	if err != nil {
		return nil, err
	}
	a := p.account(id)
	if a == nil || a.PIN == "" {
		matches("", pin)
		return nil, nil
	}
	if a.WrongPIN >= mostWrongPIN {
		return nil, errLocked
	}
	out, right := *a, matches(a.PIN, pin)
	if right && a.WrongPIN == 0 {
		return &out, nil
	}
	err = b.change(func(p *people) error {
		a := p.account(id)
		switch {
		case a == nil:
			right = false
		case a.WrongPIN >= mostWrongPIN:
			return errLocked
		case right:
			a.WrongPIN = 0
		default:
			a.WrongPIN++
		}
		return nil
	})
	if err != nil || !right {
		return nil, err
	}
	return &out, nil
}
