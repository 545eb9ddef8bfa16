package guess

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// meaning of every stem of spoken.
var meanings, longestStem = func() (map[string]string, int) {
	out, longest := map[string]string{}, 0
	for what, stems := range spoken {
		for _, s := range stems {
			if s = plain(s); out[s] == "" {
				out[s] = what
			}
			longest = max(longest, len(s))
		}
	}
	return out, longest
}()

// joined reads a word as stems: how many of its bytes they cover, and what they
// mean. A stem of one or two Latin letters stands alone only.
func joined(word string) (covered int, means []string) {
	if m, ok := meanings[word]; ok {
		return len(word), []string{m}
	}
	type best struct {
		covered, stems int
		means          []string
	}
	at := make([]best, len(word)+1)
	for i := len(word) - 1; i >= 0; i-- {
		if !utf8.RuneStart(word[i]) {
			continue
		}
		_, size := utf8.DecodeRuneInString(word[i:])
		at[i] = at[i+size]
		for end := i + size; end <= len(word) && end-i <= longestStem; end++ {
			stem := word[i:end]
			m, ok := meanings[stem]
			if !ok || len(stem) < 3 {
				continue
			}
			c := best{at[end].covered + len(stem), at[end].stems + 1, append([]string{m}, at[end].means...)}
			if c.covered > at[i].covered || c.covered == at[i].covered && c.stems < at[i].stems {
				at[i] = c
			}
		}
	}
	return at[0].covered, at[0].means
}

// rule says of which field a name speaks whose words mean these things and none
// of those.
type rule struct {
	field    string
	all, not []string
}

// rules are asked in order: the special ones stand first.
var rules = []rule{
	{"", []string{"not"}, nil},
	{"", []string{"max", "carry"}, []string{"height", "apex"}},
	{"", []string{"max", "speed"}, []string{"height", "apex"}},
	{"", []string{"max", "spin"}, []string{"height", "apex"}},
	{"offline", []string{"target", "offline"}, nil},
	{"offline", []string{"target", "line", "distance"}, nil},
	{"face_angle", []string{"face", "target"}, []string{"path"}},
	{"club_path", []string{"path", "target"}, []string{"face"}},
	{"launch_direction", []string{"launch", "target"}, nil},
	{"", []string{"target"}, nil},
	{"face_to_path", []string{"face", "path"}, nil},
	{"spin_loft", []string{"spin", "loft"}, nil},
	{"dynamic_loft", []string{"dynamic", "loft"}, nil},
	{"dynamic_loft", []string{"strike", "loft"}, nil},
	{"dynamic_lie", []string{"dynamic", "lie"}, nil},
	{"", []string{"loft"}, nil},
	{"face_angle", []string{"face"}, []string{"spin"}},
	{"attack_angle", []string{"attack"}, nil},
	{"smash_factor", []string{"smash"}, nil},
	{"spin_axis", []string{"axis"}, nil},
	{"spin_axis", []string{"spin", "tilt"}, nil},
	{"spin_axis", []string{"tilt"}, []string{"face", "club"}},
	{"spin_axis", []string{"spin", "angle"}, []string{"side", "back"}},
	{"side_spin", []string{"spin", "side"}, []string{"axis"}},
	{"spin_rate", []string{"spin", "back", "total"}, nil},
	{"back_spin", []string{"spin", "back"}, nil},
	{"back_spin", []string{"spin", "vertical"}, nil},
	{"clubhead_speed", []string{"club", "speed"}, []string{"ball", "launch", "path"}},
	{"clubhead_speed", []string{"head", "speed"}, []string{"ball", "launch"}},
	{"clubhead_speed", []string{"swing", "speed"}, []string{"ball", "launch"}},
	{"ball_speed", []string{"ball", "vertical"}, []string{"angle", "launch", "spin"}},
	{"clubhead_speed", []string{"club", "vertical"}, []string{"angle"}},
	{"clubhead_speed", []string{"head", "vertical"}, []string{"angle"}},
	{"landing_speed", []string{"landing", "speed"}, nil},
	{"dynamic_lie", []string{"strike", "lie"}, nil},
	{"landing_speed", []string{"strike", "speed"}, []string{"club", "head", "ball"}},
	{"landing_angle", []string{"strike", "angle"}, []string{"vertical", "side", "dir"}},
	{"strike_x", []string{"strike", "side"}, []string{"angle", "spin", "carry"}},
	{"strike_y", []string{"strike", "vertical"}, []string{"angle", "spin"}},
	{"strike_y", []string{"strike", "height"}, nil},
	{"ball_speed", []string{"ball", "speed"}, []string{"max"}},
	{"ball_speed", []string{"launch", "speed"}, []string{"spin"}},
	{"ball_speed", []string{"initial", "speed"}, nil},
	{"spin_rate", []string{"spin"}, nil},
	{"club_path", []string{"path"}, []string{"ball", "flight"}},
	{"landing_angle", []string{"landing"}, []string{"distance", "carry", "speed", "time", "side", "height", "offline"}},
	{"landing_angle", []string{"landing", "angle"}, nil},
	{"hang_time", []string{"hang"}, nil},
	{"hang_time", []string{"flight", "time"}, nil},
	{"apex", []string{"apex"}, []string{"time", "distance"}},
	{"apex", []string{"height"}, nil},
	{"apex", []string{"altitude", "max"}, nil},
	{"", []string{"altitude"}, nil},
	{"launch_direction", []string{"launch", "dir"}, nil},
	{"launch_direction", []string{"launch", "line"}, nil},
	{"launch_direction", []string{"launch", "side"}, []string{"distance"}},
	{"launch_direction", []string{"side", "angle"}, nil},
	{"launch_direction", []string{"side", "dir"}, nil},
	{"launch_angle", []string{"launch"}, []string{"time", "distance"}},
	{"launch_angle", []string{"vertical", "angle"}, nil},
	{"launch_direction", []string{"dir"}, []string{"swing", "club"}},
	{"total_offline", []string{"total", "offline"}, nil},
	{"total_offline", []string{"total", "side"}, nil},
	{"offline", []string{"offline"}, nil},
	{"offline", []string{"side"}, nil},
	{"total", []string{"total"}, []string{"max"}},
	{"carry", []string{"carry"}, []string{"max"}},
	{"carry", []string{"flight", "distance"}, nil},
	{"smash_factor", []string{"ball", "club", "factor"}, nil},
	{"smash_factor", []string{"strike", "factor"}, nil},
	{"carry", []string{"flight"}, []string{"time", "max", "line"}},
	{"ball_speed", []string{"speed"}, nil},
	{"clubhead_speed", []string{"club", "head"}, []string{"ball", "angle", "side", "distance"}},
	{"launch_angle", []string{"vertical"}, []string{"distance", "time", "side"}},
}

// compound reads a plain name by its words and stems: the field, and how much of
// the name they cover.
func compound(name string) (field string, cover float64) {
	if f, ok := initials[name]; ok {
		return f, 1
	}
	// Initials behind what they are of: Ball.vla.
	if at := strings.LastIndexByte(name, ' '); at > 0 && len(name)-at > 2 {
		if f, ok := initials[name[at+1:]]; ok && containers.MatchString(name[:at]) {
			return f, .95
		}
	}
	means := map[string]bool{}
	covered, all := 0, 0
	for _, word := range strings.Fields(name) {
		n, said := joined(word)
		if n*10 < len(word)*6 || n < len(word) && n*4 < len(word)*3 && word[0] < 0x80 { // a stem by chance
			n, said = 0, nil
		}
		if n == 0 {
			if m := shortened(word); m != "" && len(strings.Fields(name)) > 1 {
				n, said = len(word), []string{m}
			}
		}
		for _, m := range said {
			means[m] = true
		}
		if !unicode.IsDigit(rune(word[0])) {
			covered, all = covered+n, all+len(word)
		}
	}
	if all == 0 {
		return "", 0
	}
	has := func(m string) bool { return means[m] }
	for _, r := range rules {
		if !slices.ContainsFunc(r.all, func(m string) bool { return !has(m) }) && !slices.ContainsFunc(r.not, has) {
			return r.field, float64(covered) / float64(all)
		}
	}
	return "", 0
}

// containers are the words of what holds measures.
var containers = regexp.MustCompile(`^(?:ball|club|shot|data|launch|flight|result|results|impact|measures?|values?|metrics?|payload|body| )+$`)

// speaksOf says of which measure a name speaks: by its words, and where they
// do not cover it by patterns; nothing where a word says that it is none.
func speaksOf(name string) (field string, cover float64) {
	p := plain(name)
	byWords, words := compound(p)
	if f, ok := initials[strings.ToLower(strings.TrimSpace(name))]; ok {
		return f, 1
	}
	byPattern, pattern := match(name, namings)
	switch {
	case byWords == "" && words > 0: // a distance to the pin
		return "", 0
	case byWords != "" && words >= .75, byPattern == "" || byWords != "" && words > pattern:
		return byWords, words
	}
	return byPattern, pattern
}
