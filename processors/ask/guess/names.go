package guess

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// naming says by what words a column is known. The first that fits counts, so
// the special ones stand before the general.
type naming struct {
	field   string
	pattern *regexp.Regexp
}

func named(field, pattern string) naming {
	return naming{field, regexp.MustCompile(`\b(?:` + pattern + `)\b`)}
}

// speedWord is how devices write 'speed'.
const speedWord = `speed|spd|velocity|vel|v|geschwindigkeit|geschw|tempo|vitesse|velocidad|velocita|hastighet|snelheid`

var namings = []naming{
	named("air_temperature", `(?:air |amb\w* )?temp(?:erature|eratur)?|lufttemp\w*`),
	named("air_pressure", `(?:air |baro\w* )?pressure|baro\w*|luftdruck`),
	named("air_humidity", `humid\w*|luftfeucht\w*`),
	named("backswing_time", `back ?swing(?: time| dur\w*)?|takeaway time|ausholzeit`),
	named("downswing_time", `(?:down|forward) ?swing(?: time| dur\w*)?|abschwungzeit`),
	named("tempo", `^(?:swing |stroke |club )?tempo(?: ratio| index)?$|rhythm\w*`),
	named("smash_factor", `smash\w*|efficiency|energy transfer|effizienz|smashfactor|trefffaktor`),
	named("skid_distance", `skid\w*|slide dist\w*`),
	named("forward_roll", `(?:forward|fwd|top) ?(?:roll|spin)|roll rpm|rollspin`),
	named("roll_speed", `roll(?:ing)? ?(?:`+speedWord+`)|true roll speed`),
	named("stroke_length", `stroke length|backstroke length|back stroke`),
	named("stroke_rotation", `stroke rot\w*|face rotation|rotation of face`),
	named("stroke_arc", `(?:stroke )?arc`),
	named("putt_distance", `putt (?:dist\w*|length)|roll (?:dist\w*|out dist\w*|length)|rolled|roll ?dist`),
	named("face_to_path", `(?:club ?)?face (?:to|minus|vs|rel\w* to|less) ?(?:the )?(?:club ?)?path|f ?(?:2|to) ?p|ftp|face path|facetopath|blatt zu bahn|blatt zu pfad`),
	named("spin_loft", `spin ?loft`),
	named("side_spin", `(?:side|lateral|seiten|seit\w*|sw|horizontal|hor|lat) ?(?:spin|drall|rotation)|spin (?:side|lateral|horizontal|hor|lat|h|y)|sidespin|seitendrall|effet lateral|efecto lateral`),
	named("spin_rate", `back ?spin total|total back ?spin`),
	named("back_spin", `(?:back|ruck\w*|vertical|vert) ?(?:spin|drall|rotation)|spin (?:back|vertical|vert)|backspin|ruckwartsdrall|retro\w*`),
	named("spin_axis", `(?:spin|rotation|drall|roll|ball)? ?(?:axis|achse|axe|eje|asse|tilt|kippung)(?: tilt| angle)?|spinaxis|drallachse|(?:axis|spin) tilt|inclinaison`),
	named("closure_rate", `clos\w* ?(?:rate|speed)?|rate of closure|roc|schliess\w*`),
	named("dynamic_loft", `(?:dyn\w*|delivered|impact|presented|effective) ?loft|loft (?:dyn\w*|at impact|delivered|impact)|dloft|dyn ?loft|loftdyn`),
	named("dynamic_lie", `(?:dyn\w*|delivered|impact)? ?lie(?: angle| at impact)?|dlie`),
	named("attack_angle", `(?:angle of )?attack(?: angle| ang| deg)?|aoa|eintreffwinkel|angriffswinkel|eintreff\w*|angle d attaque|attaque|angulo de ataque|ataque|attackangle|vertical path|hit angle`),
	named("swing_direction", `swing (?:dir\w*|heading)|schwungrichtung`),
	named("swing_plane", `swing plane|plane(?: angle)?|schwungebene`),
	named("low_point", `low ?point\w*|tiefpunkt`),
	named("club_path", `(?:club|swing|head|club head)? ?path(?: angle| dir\w*)?|clubpath|schwungbahn|schlagerbahn|bahn|schwungpfad|pfad|chemin|in out`),
	named("strike_x", `(?:impact|strike|contact|hit|treff\w*|impakt) ?(?:point |pos\w* |loc\w* |offset )?(?:x|h|hor\w*|lateral|lat|toe\w*|heel\w*|side|h?offset)|toe|heel|toe heel|heel toe|seitlicher treffpunkt`),
	named("strike_y", `(?:impact|strike|contact|hit|treff\w*|impakt) ?(?:point |pos\w* |loc\w* |offset )?(?:y|v|vert\w*|height|high\w*|up|hohe)|high low|low high|high on face`),
	named("face_angle", `(?:club ?)?face(?: angle| ang| to target| deg)?|faceangle|schlagflache\w*|schlagblatt\w*|blatt\w*|face de club`),
	named("landing_speed", `(?:land\w*|impact|lande|final|descent) ?(?:ball )?(?:`+speedWord+`)`),
	named("landing_angle", `(?:land\w*|descent|desc|fall|lande|einfall|einschlag|impact|aufprall|down|drop)(?: ?angle| ?ang| ?winkel| deg)|angle of (?:descent|landing|fall)|descent|landing|landewinkel|einfallwinkel|aufprallwinkel|angle de descente|angulo de caida|steepness`),
	named("hang_time", `hang ?(?:time)?|(?:flight|air|flug|carry) ?(?:time|zeit|dauer|duration)|flugzeit|flugdauer|airtime|time (?:of flight|in air|aloft)|tof|temps de vol|tiempo (?:de|del|en) (?:vuelo|aire)|temp[oi] (?:di|de|do|in) (?:volo|voo|aria|ar)`),
	named("apex", `apex\w*|peak\w*|max\w* (?:height|ht|h|hohe)|(?:flight |ball |max )?height|hohe|scheitel\w*|flughohe|hauteur\w*|altura\w*|summit|zenith`),
	named("total_offline", `(?:total|final|end|overall|gesamt|rest|roll) ?(?:side|off ?line|lateral|dev\w*|dispersion|seit\w*|abw\w*)|(?:side|off ?line|lateral|deviation) ?(?:total|final|end|rest)`),
	named("launch_direction", `(?:launch|start|ball|initial|abflug|starting|h|side|hor|horizontal|take ?off)? ?(?:dir|direction|azimuth|azi|heading|richtung|bearing)|(?:h|hor|horizontal|side|lateral|lat)\w* ?(?:launch|angle|ang|start)(?: angle| ang)?|launch (?:h|hor|horizontal|side|lateral|azimuth|lr)(?: angle| ang)?|start ?(?:line|linie|richtung)|startlinie|startrichtung|abflugrichtung|push pull|start|direction de depart|direccion|direzione|launchdirection|launchdir`),
	named("offline", `off ?line|off ?target|side(?: carry| dist\w*| dev\w*)?|carry (?:side|off\w*|dev\w*|lateral)|lateral(?: dist\w*| dev\w*)?|dev\w*|deviation|dispersion|seit\w*|seitenabweichung|abweichung|ecart\w*|desviacion|left right|l r|lr|miss`),
	named("launch_angle", `(?:launch|start|take ?off|abflug|abschuss|v|vert|vertical|initial|departure) ?(?:v|vert|vertical)? ?(?:angle|ang|winkel|elevation|deg)|(?:launch|abflug)(?: v| vert| vertical)?|elevation|launchangle|abflugwinkel|startwinkel|angle de (?:lancement|decollage|depart)|angulo de (?:lanzamiento|salida)|angolo di lancio|launch`),
	named("total", `total(?: dist\w*| length| yards| m)?|totaldistance|gesamt\w*|overall(?: dist\w*)?|distance totale|distancia total|finish`),
	named("carry", `carry\w*|flug(?:weite|lange|strecke)|flight (?:dist\w*|length|yards)|distance portee|vuelo|volo|distancia de vuelo|in air dist\w*|air dist\w*`),
	named("spin_rate", `(?:total |ball |gesamt )?spin(?: rate| rpm| total| speed)?|drall\w*|spinrate|totalspin|rotation(?: rate)?|backspinrate|efecto|effet|rpm`),
	named("clubhead_speed", `(?:club ?head|club|head|swing|schlager\w*|schlagerkopf|kopf|palo|tete|bastone|stick|chs) ?(?:`+speedWord+`)|(?:`+speedWord+`) (?:of )?(?:the )?(?:club ?head|club|head|swing|schlager|palo|tete|de tete|del palo|du club)|chs|club ?speed|head ?speed|swing ?speed|clubheadspeed|schlagerkopfgeschwindigkeit|vclub|vhead|club mph|head mph|club|head|swing`),
	named("ball_speed", `top hızı|(?:ball|bola|balle|palla|pelota|initial|bs) ?(?:`+speedWord+`)|(?:`+speedWord+`) (?:of )?(?:the )?(?:ball|de balle|de bola|della palla)|ball ?speed|ballspeed|ballgeschwindigkeit|vball|bs|ball mph|ball|speed`),
}

// what names a column that is no measure.
var others = []naming{
	named("time", `(?:date ?time|time ?stamp|timestamp|zeitstempel|epoch|unix|utc|at|when|time|clock|uhrzeit|zeit|hora|heure|recorded|created|hit at|ts|instant)`),
	named("date", `date|day|datum|tag|fecha|jour`),
	named("session", `session\w*|sitzung|group|run|series|serie|set|block|player ?no|round|visit`),
	named("shot", `(?:shot|ball|swing|stroke|hit|putt|record|rec|entry|seq|row|schlag|coup|golpe|tiro|event)? ?(?:no|nr|num|number|nummer|id|index|idx|uuid|guid|key|count|#|seq|numero|n)|shot|#|schlag|coup|golpe|putt|n|uuid|guid|seq`),
	named("revision", `rev|revision|version|edit|update no`),
	named("deleted", `state|status|deleted|void|voided|removed|valid|discarded|flag`),
	named("club", `club(?: name| type| used)?|schlager|palo|bastone|label|stick`),
	named("player", `player|name|golfer|user|spieler|student|client|note|notes|comment|remark|handed|hand`),
}

// plain writes a column's name for comparing: words apart, in lower case,
// accents and signs taken off.
func plain(name string) string {
	var b strings.Builder
	last := ' '
	for _, r := range name {
		lower := unicode.IsLower(last) || unicode.IsDigit(last)
		switch {
		case r == '#':
			b.WriteString(" # ")
		case unicode.IsUpper(r) && lower:
			b.WriteRune(' ')
			fallthrough
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteString(unaccented(unicode.ToLower(r)))
		default:
			b.WriteRune(' ')
		}
		last = r
	}
	return glued.ReplaceAllString(strings.Join(strings.Fields(b.String()), " "), "$1 $2")
}

// glued is a head word with the small word behind it that a name's capitals left on
// it: AngleofDescent, TempodiVolo.
var glued = regexp.MustCompile(`\b(angle|time|height|length|rate|speed|plane|axis|point|centre|center|vitesse|hauteur|temps|direction|axe|` +
	`angulo|velocidad|altura|tiempo|direccion|eje|angolo|velocita|altezza|tempo|direzione|asse|distanza|distance|distancia)` +
	`(of|de|del|du|di|della)\b`)

// unaccented takes the accent off a Latin letter; other scripts keep their marks,
// which make other letters there.
func unaccented(r rune) string {
	switch {
	case r == 'ß':
		return "ss"
	case r == 'ø':
		return "o"
	case r < 0x80 || r > 0x24f:
		return string(r)
	}
	first, _ := utf8.DecodeRuneInString(norm.NFD.String(string(r)))
	return string(first)
}

// match finds what a name says, and how much of the name the words cover.
func match(name string, list []naming) (what string, cover float64) {
	p := plain(name)
	if p == "" && strings.Contains(name, "#") {
		p = "#"
	}
	for _, n := range list {
		at := n.pattern.FindStringIndex(p)
		if strings.Contains(p, "#") && n.field == "shot" && at == nil {
			at = []int{0, 1}
		}
		if at == nil {
			continue
		}
		c := float64(at[1]-at[0]) / float64(max(1, len(p)))
		if c > cover+.35 || what == "" {
			what, cover = n.field, c
		}
	}
	return what, cover
}
