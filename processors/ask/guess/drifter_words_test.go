package guess

import "strings"

// drifterNames are what a maker may call a field: whole words, shortened ones, and
// two or three letters. Each list holds several, of which a device takes one.
var drifterNames = map[string][3][]string{
	"ball_speed": {{"ball speed", "ball velocity", "initial ball speed", "speed of ball", "ball launch speed", "speed ball"},
		{"ball spd", "ball vel", "b speed", "bspd", "v ball", "ballspeed"}, {"BS", "BV", "Vb"}},
	"clubhead_speed": {{"club speed", "club head speed", "head speed", "clubhead velocity", "swing speed", "speed of club", "speed club"},
		{"club spd", "head vel", "clb speed", "chspd", "v club", "clubspeed"}, {"CS", "HS", "Vc"}},
	"smash_factor": {{"smash factor", "smash", "smash ratio", "impact efficiency", "ball to club ratio"}, {"smash fac", "sm factor",
		"smash"},
		{"SF", "SM"}},
	"attack_angle": {{"attack angle", "angle of attack", "attack", "club attack angle", "angle attack"}, {"att angle", "attk ang", "aoa"},
		{"AA", "AoA"}},
	"club_path": {{"club path", "path", "swing path", "path of club", "club path angle"}, {"clb path", "club pth", "path ang"}, {"CP",
		"PA"}},
	"face_angle": {{"face angle", "club face", "face", "face to target", "angle of face", "clubface angle"},
		{"face ang", "fc angle", "clubface"}, {"FA", "FT"}},
	"face_to_path": {{"face to path", "face to path angle", "face relative to path"}, {"f2p", "face2path", "face to pth"}, {"FTP", "FP"}},
	"dynamic_loft": {{"dynamic loft", "delivered loft", "loft at impact", "loft dynamic"}, {"dyn loft", "dloft"}, {"DL", "DyL"}},
	"launch_angle": {{"launch angle", "vertical launch", "launch vertical", "take off angle", "vertical launch angle", "angle of launch",
		"angle launch"}, {"launch ang", "vert launch", "l angle", "launch v", "launch"}, {"LA", "VLA"}},
	"launch_direction": {{"launch direction", "horizontal launch", "launch horizontal", "start direction", "azimuth",
		"horizontal launch angle", "start line", "direction of launch", "direction"}, {"launch dir", "horiz launch", "l dir", "launch h",
		"dir"},
		{"LD", "HLA"}},
	"spin_rate": {{"spin rate", "total spin", "spin", "ball spin", "rate of spin", "spin total", "ball rotation"},
		{"spin rt", "tot spin", "spn rate", "spin"}, {"SR", "SP"}},
	"spin_axis": {{"spin axis", "axis", "spin tilt", "axis tilt", "tilt of axis", "spin axis angle", "axis of spin"},
		{"spin ax", "spn axis", "tilt"}, {"SA", "AX"}},
	"back_spin": {{"back spin", "backspin", "spin back", "backspin rate"}, {"b spin", "bckspin", "back spn"}, {"BSp", "BK"}},
	"side_spin": {{"side spin", "sidespin", "spin side", "sidespin rate"}, {"s spin", "sidspin", "side spn"}, {"SSp", "SS"}},
	"carry": {{"carry", "carry distance", "carry length", "distance carry", "flight distance", "distance in the air"},
		{"carry dist", "cry", "carry"}, {"CD", "CA"}},
	"total": {{"total", "total distance", "distance total", "overall distance", "total length", "final distance"},
		{"tot dist", "total", "tot"}, {"TD", "TO"}},
	"offline": {{"offline", "carry side", "side carry", "lateral", "side deviation", "lateral carry", "offline distance", "side",
		"deviation"},
		{"off line", "side dist", "lat dev", "offl"}, {"OL", "SD"}},
	"total_offline": {{"total side", "side total", "total offline", "offline total", "total side deviation"},
		{"tot side", "side tot", "tot offl"}, {"TS", "TOL"}},
	"apex": {{"apex", "peak height", "max height", "apex height", "height of apex", "maximum height", "height apex", "height"},
		{"max hgt", "apex hgt", "pk height"}, {"AP", "MH"}},
	"landing_angle": {{"landing angle", "descent angle", "angle of descent", "land angle", "angle landing", "angle of landing"},
		{"land ang", "desc angle", "lnd angle"}, {"DA", "LNA"}},
	"hang_time": {{"hang time", "flight time", "time of flight", "air time", "time in the air"}, {"hang", "flt time", "hangtime"},
		{"HT", "TOF"}},
}

// drifterTongues are names in other languages.
var drifterTongues = map[string]map[string]string{
	"de": {"ball_speed": "Ballgeschw.", "clubhead_speed": "Schlägertempo", "smash_factor": "Treffmoment-Faktor",
		"attack_angle": "Anstellwinkel Schläger",
		"club_path":    "Schlägerbahn", "face_angle": "Schlagfläche", "launch_angle": "Abflugwinkel vertikal",
		"launch_direction": "Abflugrichtung",
		"spin_rate":        "Drehzahl", "spin_axis": "Drehachse", "carry": "Flugweite", "total": "Gesamtweite", "offline": "Seitliche Abweichung",
		"apex": "Maximale Höhe", "landing_angle": "Landewinkel", "hang_time": "Flugdauer"},
	"fr": {"ball_speed": "Vit. balle", "clubhead_speed": "Vit. club", "smash_factor": "Rendement", "attack_angle": "Angle d'attaque",
		"club_path": "Chemin du club", "face_angle": "Angle de face", "launch_angle": "Angle de décollage",
		"launch_direction": "Direction de départ",
		"spin_rate":        "Taux de spin", "spin_axis": "Axe de rotation", "carry": "Portée", "total": "Dist. totale",
		"offline": "Écart latéral",
		"apex":    "Hauteur max", "landing_angle": "Angle d'atterrissage", "hang_time": "Temps de vol"},
	"es": {"ball_speed": "Velocidad bola", "clubhead_speed": "Vel. cabeza palo", "smash_factor": "Factor de impacto",
		"attack_angle": "Ángulo de ataque",
		"club_path":    "Trayectoria del palo", "face_angle": "Ángulo de la cara", "launch_angle": "Ángulo de salida",
		"launch_direction": "Dirección de salida",
		"spin_rate":        "Efecto total", "spin_axis": "Eje de giro", "carry": "Vuelo", "total": "Distancia total", "offline": "Desvío lateral",
		"apex": "Altura máxima", "landing_angle": "Ángulo de caída", "hang_time": "Tiempo de vuelo"},
	"sv": {"ball_speed": "Bollhastighet", "clubhead_speed": "Klubbhastighet", "smash_factor": "Träffkvot", "attack_angle": "Attackvinkel",
		"club_path": "Klubbana", "face_angle": "Bladvinkel", "launch_angle": "Utgångsvinkel", "launch_direction": "Utgångsriktning",
		"spin_rate": "Spinn", "spin_axis": "Spinnaxel", "carry": "Bärlängd", "total": "Totallängd", "offline": "Sidavvikelse",
		"apex":          "Maxhöjd",
		"landing_angle": "Landningsvinkel", "hang_time": "Flygtid"},
	"it": {"ball_speed": "Velocità palla", "clubhead_speed": "Velocità testa bastone", "smash_factor": "Fattore d'impatto",
		"attack_angle": "Angolo d'attacco", "club_path": "Percorso bastone", "face_angle": "Angolo faccia",
		"launch_angle":     "Angolo di lancio",
		"launch_direction": "Direzione di lancio", "spin_rate": "Rotazione", "spin_axis": "Asse di rotazione", "carry": "Volo",
		"total": "Distanza totale", "offline": "Scarto laterale", "apex": "Altezza massima", "landing_angle": "Angolo di atterraggio",
		"hang_time": "Tempo di volo"},
	"nl": {"ball_speed": "Balsnelheid", "clubhead_speed": "Clubkopsnelheid", "smash_factor": "Slagrendement",
		"attack_angle": "Aanvalshoek",
		"club_path":    "Zwaaipad", "face_angle": "Bladhoek", "launch_angle": "Lanceerhoek", "launch_direction": "Startrichting",
		"spin_rate": "Toerental", "spin_axis": "Spinas", "carry": "Draaglengte", "total": "Totale afstand", "offline": "Zijwaarts",
		"apex": "Hoogste punt", "landing_angle": "Daalhoek", "hang_time": "Vluchttijd"},
	"fi": {"ball_speed": "Pallonopeus", "clubhead_speed": "Mailan nopeus", "smash_factor": "Osumakerroin", "attack_angle": "Tulokulma",
		"club_path": "Mailan linja", "face_angle": "Lavan kulma", "launch_angle": "Lähtökulma", "launch_direction": "Lähtösuunta",
		"spin_rate": "Kierteet", "spin_axis": "Kierreakseli", "carry": "Kantama", "total": "Kokonaispituus", "offline": "Sivupoikkeama",
		"apex": "Lakikorkeus", "landing_angle": "Laskukulma", "hang_time": "Lentoaika"},
	"ja": {"ball_speed": "ボール初速", "clubhead_speed": "ヘッドスピード", "smash_factor": "ミート率", "attack_angle": "入射角",
		"club_path": "軌道", "face_angle": "フェース角", "launch_angle": "打ち出し角", "launch_direction": "打ち出し方向",
		"spin_rate": "スピン量", "spin_axis": "回転軸",
		"carry": "キャリー", "total": "総距離", "offline": "左右ブレ",
		"apex": "最高到達点", "landing_angle": "落下角", "hang_time": "滞空時間"},
	"pl": {"ball_speed": "Prędkość piłki", "clubhead_speed": "Prędkość kija", "smash_factor": "Współczynnik uderzenia",
		"attack_angle": "Kąt ataku",
		"club_path":    "Ścieżka kija", "face_angle": "Kąt lica", "launch_angle": "Kąt startu", "launch_direction": "Kierunek startu",
		"spin_rate": "Obroty", "spin_axis": "Oś obrotu", "carry": "Lot", "total": "Dystans całkowity", "offline": "Odchylenie boczne",
		"apex": "Wysokość maksymalna", "landing_angle": "Kąt lądowania", "hang_time": "Czas lotu"},
	"pt": {"ball_speed": "Velocidade da bola", "clubhead_speed": "Velocidade do taco", "smash_factor": "Fator de impacto",
		"attack_angle": "Ângulo de ataque", "club_path": "Caminho do taco", "face_angle": "Ângulo da face",
		"launch_angle":     "Ângulo de lançamento",
		"launch_direction": "Direção de lançamento", "spin_rate": "Taxa de rotação", "spin_axis": "Eixo de rotação", "carry": "Voo",
		"total": "Distância total", "offline": "Desvio lateral", "apex": "Altura máxima", "landing_angle": "Ângulo de queda",
		"hang_time": "Tempo de voo"},
	"da": {"ball_speed": "Boldhastighed", "clubhead_speed": "Køllehastighed", "smash_factor": "Træfkvote", "attack_angle": "Angrebsvinkel",
		"club_path": "Køllebane", "face_angle": "Bladvinkel", "launch_angle": "Udgangsvinkel", "launch_direction": "Udgangsretning",
		"spin_rate": "Omdrejninger", "spin_axis": "Rotationsakse", "carry": "Bærelængde", "total": "Samlet længde",
		"offline": "Sideafvigelse",
		"apex":    "Tophøjde", "landing_angle": "Landingsvinkel", "hang_time": "Flyvetid"},
}

// drifterStyles join the words of a name.
var drifterStyles = []func(string) string{
	func(s string) string { return titled(s, " ") },
	func(s string) string { return titled(s, "") },
	func(s string) string { t := titled(s, ""); return strings.ToLower(t[:1]) + t[1:] },
	func(s string) string { return strings.ReplaceAll(s, " ", "_") },
	func(s string) string { return strings.ToUpper(strings.ReplaceAll(s, " ", "_")) },
	func(s string) string { return strings.ToUpper(s) },
	func(s string) string { return s },
	func(s string) string { return strings.ReplaceAll(s, " ", "-") },
	func(s string) string { return titled(s, ". ") },
}

func titled(s, sep string) string {
	w := strings.Fields(s)
	for i := range w {
		w[i] = strings.ToUpper(w[i][:1]) + w[i][1:]
	}
	return strings.Join(w, sep)
}

// drifterJunk are columns that are no measure of the contract, some of which sound so.
var drifterJunk = []struct{ name, kind string }{
	{"device temp", "small"}, {"battery", "percent"}, {"confidence", "percent"}, {"target distance", "target"}, {"to pin", "target"},
	{"frames", "count"}, {"score", "percent"}, {"avg ball speed", "mean:ball_speed"}, {"max carry", "max:carry"}, {"tee height", "tee"},
	{"exposure time", "exposure"}, {"ball type", "word"}, {"player", "word"}, {"quality", "percent"}, {"speed index", "percent"},
	{"camera angle", "angle"}, {"carry rank", "count"}, {"launch count", "count"}, {"target carry", "target"}, {"level", "small"},
	{"rpm fan", "fan"}, {"lie", "word"}, {"distance error", "small"}, {"strokes gained", "signed"}, {"spin confidence", "percent"},
	{"goal speed", "goal"}, {"loft", "loft"}, {"mat height", "tee"}, {"signal", "percent"}, {"previous carry", "previous:carry"},
}
