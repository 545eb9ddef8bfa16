package gate

import (
	"fmt"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"
)

// Desk is the hub's own terminal: what it does needs no password, and stands in
// the trail. Its answers are texts to print.
type Desk struct {
	book  *Book
	trail *Trail
	now   func() time.Time
}

// OpenDesk opens the accounts below a folder.
func OpenDesk(dir string, now func() time.Time) (*Desk, error) {
	book, err := OpenBook(dir)
	if err != nil {
		return nil, err
	}
	trail, err := OpenTrail(filepath.Join(dir, "trail"))
	return &Desk{book, trail, now}, err
}

func (d *Desk) note(what, about string) error {
	return d.trail.Add(Mark{At: d.now(), Who: "hub", Device: "hub", What: what, About: about})
}

// Exported has the trail say that the hub's own terminal took data out.
func (d *Desk) Exported(what string) error { return d.note("exported", what) }

// List says who has an account and which tablets are paired.
func (d *Desk) List() (string, error) {
	accounts, err := d.book.Accounts()
	if err != nil {
		return "", err
	}
	devices, err := d.book.Devices()
	if err != nil {
		return "", err
	}
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 4, 2, ' ', 0)
	for _, a := range accounts {
		has := "no password yet"
		if a.Password != "" {
			has = "password"
		}
		if a.PIN != "" {
			has += ", PIN"
		}
		if a.WrongPIN >= mostWrongPIN {
			has += " (locked)"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", a.ID, a.Name, joined(a.Roles), has)
	}
	for _, x := range devices {
		kind := "tablet"
		if x.Screen {
			kind = "screen"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\tpaired %s\n", x.ID, x.Name, kind, x.Made.Local().Format("2006-01-02 15:04"))
	}
	if len(accounts)+len(devices) == 0 {
		fmt.Fprintln(w, "nobody has an account: `fairlead people add NAME --role manager` makes the first")
	}
	err = w.Flush()
	return b.String(), err
}

// Add makes an account.
func (d *Desk) Add(name, roles, id string) (string, error) {
	some, err := ParseRoles(roles)
	if err != nil {
		return "", err
	}
	made, err := d.book.Add(id, name, some, d.now())
	if err != nil {
		return "", err
	}
	return made.text(), d.note("made an account", made.ID+" "+joined(some))
}

func (i Invited) text() string {
	return fmt.Sprintf("%s (%s) chooses a password at the console's /gate/join with the code\n\n    %s\n\nuntil %s; it is shown this once\n",
		i.Name, i.ID, i.Code, i.Until.Local().Format("2006-01-02 15:04"))
}

// Provided says by what name of the provider's an account signs in.
func (d *Desk) Provided(who, login string) (string, error) {
	id, err := d.book.Provided(who, login, d.now())
	if err != nil {
		return "", err
	}
	text := fmt.Sprintf("%s signs in by the provider as %s, and from the first time on nobody else by this name\n", who, login)
	if login == "" {
		text = fmt.Sprintf("%s signs in by password alone\n", who)
	}
	return text, d.note("gave a sign-in name", id)
}

// Reset ends an account's password and sessions.
func (d *Desk) Reset(who string) (string, error) {
	made, err := d.book.Reset(who, d.now())
	if err != nil {
		return "", err
	}
	return made.text(), d.note("reset an account", made.ID)
}

// Revoke ends an account or a device.
func (d *Desk) Revoke(which string) (string, error) {
	id, err := d.book.Revoke(which, d.now())
	if err == nil {
		return fmt.Sprintf("%s may not sign in any more; sessions end within a second\n", which), d.note("revoked an account", id)
	}
	if id, err2 := d.book.RevokeDevice(which, d.now()); err2 == nil {
		return fmt.Sprintf("%s is no tablet of the studio any more; its sessions end within a second\n", which), d.note("revoked a device", id)
	}
	return "", fmt.Errorf("%w: `fairlead people list` shows accounts and tablets", err)
}

// Pair makes a code that pairs a tablet or a screen.
func (d *Desk) Pair(name string, screen bool) (string, error) {
	code, until, err := d.book.Pair(name, screen, "hub", d.now())
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("open /gate/pair on %s and type\n\n    %s\n\nuntil %s\n", name, code, until.Local().Format("15:04:05")),
		d.note("made a code to pair a device", "")
}

// Check reads the whole trail.
func (d *Desk) Check() (string, error) {
	n, err := d.trail.Verify()
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%d lines, none changed or taken out\n", n), nil
}
