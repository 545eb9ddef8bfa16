package visit

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
)

// buildFields are what a form or command asks for of a build.
func buildFields() []Field {
	return []Field{
		{Name: "set", Many: true, Help: "a part as it is stated, PART=VALUE with unit, such as loft=31deg; PART=unknown takes it out"},
		{Name: "measured", Many: true, Help: "a part as it was measured on this very club"},
		{Name: "name", Help: "what the fitter calls it"},
		{Name: "club", Help: "id of the physical test club"},
		{Name: "gamer", Help: "it is the player's own club", Yes: true},
	}
}

// partGiven is one part of a build as it was entered.
type partGiven struct {
	info     event.BuildFieldInfo
	text     string // empty: unknown
	measured bool
	unit     string // of a bare number
	change   string // in the trade's words, where a change of what it was was entered
}

// parts are the parts that were entered: rows of field, value and knowledge of
// a form, a grid of fields (part.length, how.length), or PART=VALUE of flags.
func (r *Reader) parts() (out []partGiven) {
	add := func(name, value string, measured bool) {
		info, ok := event.BuildFieldNamed(name)
		if !ok {
			r.Bad("part", name, "no such part of a build", "`fairlead visit trial --help` lists them")
			return
		}
		if value = strings.TrimSpace(value); value == "unknown" {
			value = ""
		}
		out = append(out, partGiven{info: info, text: value, measured: measured, unit: r.prefer(info)})
	}
	values, how := r.In["value"], r.In["knowledge"]
	for i, name := range r.In["field"] {
		if name != "" {
			value := ""
			if i < len(values) {
				value = values[i]
			}
			add(name, value, i < len(how) && how[i] == "measured")
		}
	}
	for _, info := range event.BuildFields() {
		if value := r.Text("part." + info.Name); value != "" {
			add(info.Name, value, r.Text("how."+info.Name) == "measured")
		}
	}
	for _, list := range []string{"set", "measured"} {
		for _, text := range r.In[list] {
			part, value, ok := strings.Cut(text, "=")
			if !ok {
				r.Bad(list, text, "names no part", "write PART=VALUE, such as length=37.5in")
				continue
			}
			add(strings.TrimSpace(part), value, list == "measured")
		}
	}
	return out
}

// apply sets parts of a build, and returns those that say something else now.
func (r *Reader) apply(b *event.Build, given []partGiven) (changed []event.BuildField) {
	for i, p := range given {
		before := b.Spec(p.info.Field)
		if f := figureOf(b, p.info, r.prefer(p.info)); f.Was != nil {
			if v, relative, err := club.ReadFigure(p.text, f); err == nil && relative && v != *f.Was {
				given[i].change = f.Change(v - *f.Was)
			}
		}
		if err := SetPart(b, p.info.Name, p.text, p.measured, r.prefer(p.info)); err != nil {
			r.Bad(p.info.Name, p.text, "can't be read", strings.TrimPrefix(err.Error(), p.info.Label+": "))
			continue
		}
		if after := b.Spec(p.info.Field); before.GetNumber() != after.GetNumber() || before.GetText() != after.GetText() ||
			(before == nil) != (after == nil) {
			changed = append(changed, p.info.Field)
		}
	}
	return changed
}

// nextBuild is the build of a new trial: that of the trial it starts from, and
// what changed. Another club than the one it starts from is no longer the
// player's own, is named after the change, and loses what the change makes
// untrue.
func (r *Reader) nextBuild() *event.Build {
	from := &event.Build{}
	_, chosen := r.In["base"]
	switch base := r.Text("base"); {
	case r.Text("trial") != "" && r.Place.Timeline.Trial(r.Text("trial")) != nil:
		from = r.Place.Timeline.Trial(r.Text("trial")).Build // it goes on
	case base != "":
		from = r.buildOf("base", base)
	case chosen || r.Yes("blank"):
	default:
		if s := r.Place.Timeline.Now().Session; s != nil && s.InHand() != nil {
			from = s.InHand().Build
		}
	}
	b := &event.Build{}
	if from != nil {
		b = proto.Clone(from).(*event.Build)
	}
	given := r.parts()
	if id := r.Text("club"); id != "" && id != b.ClubId {
		if known := r.testClub(id); known != nil {
			b, from = known, r.Place.Shelf.BuildOf(r.Place.Shelf.TestClub(id))
		} else {
			anotherClub(b)
			b.ClubId = id
		}
	}
	changed := r.apply(b, given)
	changed = slices.DeleteFunc(changed, func(f event.BuildField) bool { return isResult(f) && from.Spec(f) == nil && r.measures(given, f) })
	dropDependents(b, changed, given)
	r.noteClub(b, given)
	name := r.Text("name")
	switch {
	case r.Yes("gamer"):
		b.Gamer = true
	case len(changed) > 0 || len(r.In["gamer"]) > 0 || name != "" && name != from.GetName():
		b.Gamer = false
	}
	switch {
	case name != "":
		b.Name, b.NamedAfter = name, nil
	case len(changed) > 0 && (b.Name != "" || !b.Gamer && len(from.GetSpecs()) > 0):
		b.Name, b.NamedAfter = nameAfter(given, changed), changed
	case b.Name == "" && b.Gamer:
		b.Name = "own club"
	}
	b.Name = shortened(b.Name)
	return b
}

// amendedBuild is what a trial's build is after a correction, or with what was
// measured of it: the same club. Its name and whose it is stay, unless it was
// named after a part that is corrected here.
func (r *Reader) amendedBuild(trial string) *event.Build {
	b := &event.Build{}
	if was := r.buildOf("trial", trial); was != nil {
		b = proto.Clone(was).(*event.Build)
	}
	if id := r.Text("club"); id != "" {
		b.ClubId = id
	}
	given := r.parts()
	changed := r.apply(b, given)
	for i := range given {
		given[i].change = "" // what is put right is no change of the club
	}
	r.noteClub(b, given)
	if r.Text("gamer") != "" {
		b.Gamer = r.Yes("gamer")
	}
	if name := r.Text("name"); name != "" {
		b.Name, b.NamedAfter = name, nil
	} else {
		rename(b, given, changed)
	}
	if b.Name == "" && b.Gamer {
		b.Name = "own club"
	}
	b.Name = shortened(b.Name)
	return b
}

// measures says whether a part was entered as measured.
func (r *Reader) measures(given []partGiven, f event.BuildField) bool {
	return slices.ContainsFunc(given, func(p partGiven) bool { return p.info.Field == f && p.measured })
}

// noteClub notes of what was measured now on which physical club.
func (r *Reader) noteClub(b *event.Build, given []partGiven) {
	for _, p := range given {
		if s := b.Spec(p.info.Field); s != nil && p.measured {
			s.MeasuredOn = b.ClubId
		}
	}
}

// nameAfter names a build by what was changed, as fitters do.
func nameAfter(given []partGiven, changed []event.BuildField) string {
	var names []string
	for _, p := range given {
		if slices.Contains(changed, p.info.Field) {
			names = append(names, p.says(len(names)))
		}
	}
	return strings.Join(names, ", ")
}

// bare is a figure without a unit: 95, 37 1/2, 37½, 10,5.
var bare = regexp.MustCompile(`^[0-9][0-9 ./,½¼¾⅛⅜⅝⅞]*$`)

// glued is a figure with its unit behind it: 37.5in, 31deg.
var glued = regexp.MustCompile(`^([0-9][0-9 ./,½¼¾⅛⅜⅝⅞]*)(deg|in|cm|mm|g|cpm)$`)

// says is the part in a name, the n-th: ½ in longer, Length 37.5in, or the words of
// a text. A bare number is told with the unit of its field.
func (p partGiven) says(n int) string {
	label, text := p.info.Label, p.text
	if n > 0 {
		label = strings.ToLower(label[:1]) + label[1:]
	}
	if bare.MatchString(text) && p.unit != "" {
		text = strings.Replace(text+" "+p.unit, " °", "°", 1)
	} else if m := glued.FindStringSubmatch(text); m != nil { // as commands write it
		text = strings.Replace(m[1]+" "+m[2], " deg", "°", 1)
	}
	switch {
	case p.change != "":
		return p.change
	case p.info.Text && p.text != "":
		return p.text
	case p.text == "":
		return label + " unknown"
	}
	return label + " " + text
}

// rename follows a correction of the parts that a build is named after.
func rename(b *event.Build, given []partGiven, changed []event.BuildField) {
	segments := strings.Split(b.Name, ", ")
	if len(segments) != len(b.NamedAfter) {
		return // words with commas in them: the name stays
	}
	for i, f := range b.NamedAfter {
		for _, p := range given {
			if p.info.Field == f && slices.Contains(changed, f) {
				segments[i] = p.says(i)
			}
		}
	}
	b.Name = strings.Join(segments, ", ")
}

func shortened(name string) string {
	if len(name) > event.LongestLabel {
		return strings.ToValidUTF8(name[:event.LongestLabel], "")
	}
	return name
}

// SetPart sets one part of a build by name from what a person wrote: words, or
// a figure in any notation of the trade, against what it was too. An empty
// value makes the part unknown. A bare number is in the preferred unit, or in
// the stored one for none, where it makes sense there.
func SetPart(b *event.Build, name, value string, measured bool, prefer string) error {
	info, ok := event.BuildFieldNamed(name)
	if !ok {
		return fmt.Errorf("no part %q of a build: `fairlead visit trial --help` lists them", name)
	}
	spec := &event.Spec{Field: info.Field}
	if value = strings.TrimSpace(value); value == "unknown" {
		value = ""
	}
	if measured {
		spec.Knowledge = event.Knowledge_KNOWLEDGE_MEASURED
	}
	if info.Text {
		spec.Text = value
	} else if value != "" {
		v, err := club.ParseFigure(value, figureOf(b, info, prefer))
		if err != nil {
			return fmt.Errorf("%s: %w", info.Label, err)
		}
		spec.Number = v
	}
	b.Specs = slices.DeleteFunc(slices.Clone(b.Specs), func(s *event.Spec) bool { return s.Field == info.Field })
	if value != "" {
		b.Specs = append(b.Specs, spec)
	}
	return nil
}

// figureOf says how a part of a build is written, and what it was.
func figureOf(b *event.Build, info event.BuildFieldInfo, prefer string) club.Figure {
	f := club.Figure{Name: info.Name, Quantity: info.Quantity, Min: info.Min, Max: info.Max, Prefer: prefer}
	if was, known := b.Number(info.Field); known && !info.Text {
		f.Was = &was
	}
	return f
}

// prefer is the unit in which the field of a part is shown where it is entered.
func (r *Reader) prefer(info event.BuildFieldInfo) string {
	if r.Place.Prefer == nil || info.Text {
		return ""
	}
	return r.Place.Prefer(info)
}
