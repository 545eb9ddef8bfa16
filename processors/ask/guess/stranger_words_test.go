package guess

import "fairlead/ingest/contract/unit"

// The strangers are devices whose makers never read names.go: other words,
// other languages, other ways of saying units, sides and times than those of
// the corpus. Words are the trade's own; no device of the world is meant.

// tongues are sets of column names, in the order of fieldOrder's fields.
var tongues = map[string]map[string]string{
	"letters": {"clubhead_speed": "CHS", "ball_speed": "BS", "smash_factor": "SF", "attack_angle": "AoA", "club_path": "Path",
		"face_angle": "FA", "face_to_path": "F2P", "launch_angle": "VLA", "launch_direction": "HLA", "spin_rate": "Spin", "spin_axis": "Axis",
		"carry": "Carry", "total": "Tot", "offline": "Off", "apex": "Apex", "landing_angle": "Desc", "hang_time": "HT"},
	"snake": {"clubhead_speed": "club_velocity", "ball_speed": "ball_velocity", "smash_factor": "smash_ratio",
		"attack_angle": "angle_of_attack", "club_path": "swing_path", "face_angle": "face_to_target", "face_to_path": "face_to_path",
		"launch_angle": "vert_launch", "launch_direction": "horiz_launch", "spin_rate": "total_spin_rate", "spin_axis": "axis_tilt",
		"carry": "carry_dist", "total": "total_dist", "offline": "lateral_offset", "apex": "apex_height", "landing_angle": "land_angle",
		"hang_time": "time_in_air"},
	"tree": {"clubhead_speed": "club.headSpeed", "ball_speed": "ball.speed", "attack_angle": "club.attackAngle", "club_path": "club.path",
		"face_angle": "club.faceAngle", "launch_angle": "ball.launch.vertical", "launch_direction": "ball.launch.horizontal",
		"spin_rate": "ball.spin.total", "spin_axis": "ball.spin.axis", "carry": "flight.carry", "total": "flight.total",
		"offline": "flight.side", "apex": "flight.apex", "landing_angle": "flight.descentAngle", "hang_time": "flight.hangTime"},
	"parts": {"clubhead_speed": "Swing Speed", "ball_speed": "Initial Ball Speed", "launch_angle": "Vertical Launch Angle",
		"launch_direction": "Horizontal Launch Angle", "back_spin": "Back Spin Rate", "side_spin": "Side Spin Rate",
		"carry": "Carry Length", "total": "Total Length", "offline": "Distance Offline", "apex": "Peak Height",
		"landing_angle": "Angle of Descent", "hang_time": "Time of Flight", "face_angle": "Club Face Angle", "club_path": "Club Path Angle"},
	"german": {"clubhead_speed": "Schlägerkopfgeschw.", "ball_speed": "Ballgeschw.", "smash_factor": "Smash-Faktor",
		"attack_angle": "Angriffswinkel", "club_path": "Schwungpfad", "face_angle": "Schlagflächenwinkel",
		"launch_angle": "Startwinkel vertikal", "launch_direction": "Startwinkel horizontal", "spin_rate": "Gesamtspin",
		"spin_axis": "Neigung Spinachse", "carry": "Flugweite", "total": "Gesamtweite", "offline": "Seitliche Abweichung",
		"apex": "Max. Höhe", "landing_angle": "Landewinkel", "hang_time": "Flugdauer"},
	"french": {"clubhead_speed": "Vitesse club", "ball_speed": "Vitesse balle", "smash_factor": "Facteur de smash",
		"attack_angle": "Angle d'attaque", "club_path": "Chemin du club", "face_angle": "Angle de face", "launch_angle": "Angle de décollage",
		"launch_direction": "Direction de départ", "spin_rate": "Taux de rotation", "spin_axis": "Axe de rotation", "carry": "Portée",
		"total": "Distance totale", "offline": "Écart latéral", "apex": "Apogée", "landing_angle": "Angle d'atterrissage",
		"hang_time": "Temps de vol"},
	"spanish": {"clubhead_speed": "Velocidad del palo", "ball_speed": "Velocidad de la bola", "smash_factor": "Factor smash",
		"attack_angle": "Ángulo de ataque", "club_path": "Trayectoria del palo", "face_angle": "Ángulo de la cara",
		"launch_angle": "Ángulo de lanzamiento", "launch_direction": "Dirección de salida", "spin_rate": "Giro total",
		"spin_axis": "Eje de giro", "carry": "Distancia de vuelo", "total": "Distancia total", "offline": "Desviación lateral",
		"apex": "Altura máxima", "landing_angle": "Ángulo de caída", "hang_time": "Tiempo de vuelo"},
	"italian": {"clubhead_speed": "Velocità bastone", "ball_speed": "Velocità palla", "smash_factor": "Fattore smash",
		"attack_angle": "Angolo d'attacco", "club_path": "Percorso bastone", "launch_angle": "Angolo di lancio",
		"launch_direction": "Direzione di lancio", "spin_rate": "Rotazione", "spin_axis": "Asse di rotazione", "carry": "Volo",
		"total": "Distanza totale", "offline": "Deviazione laterale", "apex": "Altezza massima", "landing_angle": "Angolo di atterraggio",
		"hang_time": "Tempo di volo"},
	"swedish": {"clubhead_speed": "Klubbhastighet", "ball_speed": "Bollhastighet", "smash_factor": "Smashfaktor",
		"attack_angle": "Attackvinkel",
		"club_path":    "Klubbana", "launch_angle": "Utgångsvinkel", "launch_direction": "Startriktning", "spin_rate": "Spinn",
		"spin_axis": "Spinnaxel", "carry": "Carry", "total": "Total längd", "offline": "Sidled", "apex": "Topphöjd",
		"landing_angle": "Nedslagsvinkel", "hang_time": "Flygtid"},
	"dutch": {"clubhead_speed": "Clubhoofdsnelheid", "ball_speed": "Balsnelheid", "smash_factor": "Smashfactor",
		"attack_angle": "Aanvalshoek",
		"club_path":    "Clubpad", "launch_angle": "Lanceerhoek", "launch_direction": "Startrichting", "spin_rate": "Spinsnelheid",
		"spin_axis": "Spin-as", "carry": "Carry", "total": "Totaal", "offline": "Zijwaartse afwijking", "apex": "Maximale hoogte",
		"landing_angle": "Landingshoek", "hang_time": "Vliegtijd"},
	"japanese": {"clubhead_speed": "ヘッドスピード", "ball_speed": "ボール初速", "smash_factor": "ミート率", "attack_angle": "入射角",
		"club_path": "クラブパス", "face_angle": "フェース角", "launch_angle": "打ち出し角", "launch_direction": "左右打ち出し角",
		"spin_rate": "スピン量", "spin_axis": "スピン軸", "carry": "キャリー", "total": "トータル", "offline": "左右ブレ",
		"apex": "最高到達点", "landing_angle": "落下角度", "hang_time": "滞空時間"},
	"korean": {"clubhead_speed": "헤드 스피드", "ball_speed": "볼 스피드", "smash_factor": "스매시 팩터", "launch_angle": "발사각",
		"launch_direction": "방향각", "spin_rate": "스핀량", "spin_axis": "스핀축", "carry": "캐리", "total": "총거리", "offline": "좌우 편차",
		"apex": "최고 높이", "landing_angle": "낙하각", "hang_time": "체공 시간"},
	"chinese": {"clubhead_speed": "杆头速度", "ball_speed": "球速", "smash_factor": "击球效率", "attack_angle": "攻角", "launch_angle": "起飞角",
		"launch_direction": "出球方向", "spin_rate": "总旋转", "spin_axis": "旋转轴", "carry": "落点距离", "total": "总距离", "offline": "左右偏移",
		"apex": "最高点", "landing_angle": "落地角", "hang_time": "飞行时间"},
	"portuguese": {"clubhead_speed": "Velocidade do taco", "ball_speed": "Velocidade da bola", "attack_angle": "Ângulo de ataque",
		"launch_angle": "Ângulo de lançamento", "launch_direction": "Direção de saída", "spin_rate": "Rotação", "spin_axis": "Eixo de rotação",
		"carry": "Distância de voo", "total": "Distância total", "offline": "Desvio lateral", "apex": "Altura máxima",
		"landing_angle": "Ângulo de descida", "hang_time": "Tempo de voo"},
}

// spelt are a unit's other spellings, by what it is to us.
var spelt = map[string][]string{
	"mph": {"mph", "MPH", "mi/h", "miles/h", "Mph"}, "km/h": {"km/h", "kph", "KMH", "km/hr"}, "m/s": {"m/s", "mps", "M/S", "m/sec"},
	"yd": {"yd", "yds", "yards", "Yds", "YD"}, "m": {"m", "meters", "Meter", "metres", "M"}, "ft": {"ft", "feet", "Ft"},
	"deg": {"deg", "°", "degrees", "Deg"}, "rpm": {"rpm", "RPM", "rev/min", "r/min"}, "s": {"s", "sec", "seconds"},
	"ms": {"ms", "msec"},
}

// lands are the units of a country.
var lands = []map[unit.Quantity]string{
	{unit.Speed: "mph", unit.Length: "yd", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "mph", unit.Length: "yd", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "km/h", unit.Length: "m", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "m/s", unit.Length: "m", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
	{unit.Speed: "mph", unit.Length: "m", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "ms"},
	{unit.Speed: "m/s", unit.Length: "yd", unit.Angle: "deg", unit.Rotation: "rpm", unit.Time: "s"},
}

// sideMarks are left and right, as suffix words.
var sideMarks = map[string][2]string{
	"": {"L", "R"}, "german": {"links", "rechts"}, "french": {"G", "D"}, "spanish": {"I", "D"}, "italian": {"S", "D"},
	"swedish": {"V", "H"}, "dutch": {"L", "R"}, "japanese": {"左", "右"}, "korean": {"좌", "우"}, "chinese": {"左", "右"},
	"portuguese": {"E", "D"},
}

// beside are columns that are no measure of the hit, with what they say.
var beside = [][3]string{
	{"Player", "J. Alder", "J. Alder"}, {"Club", "7 Iron", "7 Iron"}, {"Loft", "34", "34"}, {"Target Distance", "150", "160"},
	{"To Pin", "4.2", "7.7"}, {"Ball Type", "Range", "Range"}, {"Shape", "Draw", "Fade"}, {"Score", "87", "91"}, {"Quality", "3", "2"},
	{"Battery", "81", "80"}, {"Clip", "c_0017.mov", "c_0018.mov"}, {"Comment", "", "thin"}, {"Lie Type", "Mat", "Mat"},
	{"Altitude", "120", "120"}, {"Confidence", "0.97", "0.93"}, {"Carry Delta", "1.2", "-2.5"}, {"Hand", "RH", "RH"},
	{"Bay", "2", "2"}, {"Wind", "0", "0"}, {"Points", "12", "8"}, {"Favorite", "false", "true"}, {"Distance to Target", "6", "9"},
}
