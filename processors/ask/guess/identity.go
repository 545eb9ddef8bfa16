package guess

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// when settles the device's clock.
func (d *draft) when() {
	d.at = when(d.cols, d.t.Names)
	if d.at == nil {
		return
	}
	for _, c := range d.at.columns {
		d.use(c)
	}
	if len(d.at.unsure) > 0 {
		options := []string{d.at.layouts[0]}
		words := []string{exampleOf(d.at.layouts[0])}
		for _, l := range d.at.unsure {
			if !slices.Contains(words, exampleOf(l)) && len(options) < 4 {
				options, words = append(options, l), append(words, exampleOf(l))
			}
		}
		d.at.layouts = []string{d.ask(Question{Key: "date", Text: "How is 31 December 2026 written in " + d.at.columns[0].Name + "?",
			Options: options, Words: words, Assumed: options[0]})}
	} else {
		d.at.layouts = d.at.layouts[:1]
	}
	if d.at.zone != "" {
		d.at.zone = "local"
		if z, ok := d.answers["zone"]; ok && z != "" {
			d.at.zone = z
		}
	}
}

func exampleOf(layout string) string {
	return strings.NewReplacer("January", "December", "Jan", "Dec", "2006", "2026", "06", "26", "01", "12", "02", "31", "1/2/", "12/31/",
		"2/1/", "31/12/",
		"2.1.", "31.12.", "1.2.", "12.31.", "2-1-", "31-12-", "1-2-", "12-31-").Replace(layout)
}

var uuid = regexp.MustCompile(`(?i)^[0-9a-f]{8}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{12}$`)

// identity finds what names a shot, its versions and its club.
func (d *draft) identity() {
	var session, shot *column
	best := 0
	for _, c := range d.cols {
		if c.field != "" || d.uses(c) || len(c.texts) == 0 {
			continue
		}
		what, cover := match(c.bare, others)
		distinct := map[string]bool{}
		for _, text := range c.texts {
			distinct[text] = true
		}
		full := len(c.texts)*10 >= d.t.Rows*8
		switch {
		case full && uuid.MatchString(c.texts[0]) && len(distinct)*2 > d.t.Rows && !strings.Contains(plain(c.bare), "session"):
			shot, best, d.scope = c, 100, "device"
		case what == "shot" && full && (len(distinct)*2 > d.t.Rows || len(distinct) > 1 && counts(c)):
			score := int(10 * cover)
			if len(distinct) == d.t.Rows {
				score += 5
			}
			if score > best {
				shot, best = c, score
			}
		case c.Name == abovePlayer:
			d.use(c)
		case what == "session":
			session = c
		case what == "revision" && counts(c) && small(c):
			d.revision = c
		case what == "deleted":
			d.withdrawn(c)
		case what == "club" && c.count*2 < len(c.texts) || what == "club" && cover > .9:
			d.club = c
		}
	}
	if d.club != nil {
		d.use(d.club)
	}
	if shot == nil {
		d.revision, d.deleted = nil, nil
		if d.at == nil {
			d.scope = "file"
		}
		return
	}
	d.id = []*column{shot}
	if session != nil && d.scope == "" {
		d.id = []*column{session, shot}
		d.use(session)
	}
	for _, c := range []*column{shot, d.revision, d.deleted} {
		if c != nil {
			d.use(c)
		}
	}
}

func small(c *column) bool {
	for _, v := range c.values() {
		if v < 0 || v > 50 {
			return false
		}
	}
	return true
}

var gone = regexp.MustCompile(`(?i)^(void(ed)?|deleted?|withdrawn|removed|cancell?ed|discarded|geloscht|gelöscht|supprim\w*)$`)

// withdrawn finds what a column says of a shot that was taken back.
func (d *draft) withdrawn(c *column) {
	for _, text := range c.texts {
		flag := strings.HasPrefix(plain(c.bare), "delet") || strings.HasPrefix(plain(c.bare), "void") || strings.HasPrefix(plain(c.bare), "remov")
		if yes, err := strconv.ParseBool(text); gone.MatchString(text) || flag && err == nil && yes {
			d.deleted = c
			if !slices.Contains(d.deletes, text) {
				d.deletes = append(d.deletes, text)
			}
		}
	}
}
