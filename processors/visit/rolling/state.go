package rolling

// State is what the live page shows. Numbers are in stored units (SI, degrees,
// rpm); directions are positive right of the target, strike x toward the toe
// and y up. Absent numbers are not known; there is never a NaN.
type State struct {
	Studio      string       `json:"studio"`
	Bay         string       `json:"bay"`
	At          int64        `json:"at_unix_ns"` // hub's clock, of the snapshot
	Events      int          `json:"events"`     // visit events known
	Session     *Session     `json:"session,omitempty"`
	Now         Now          `json:"now"`
	Setting     *Setting     `json:"setting,omitempty"`
	Trials      []Trial      `json:"trials"`      // rows, in the order of the session
	Incumbent   string       `json:"incumbent"`   // row key of what others are compared with: the gamer, else the first hit
	Comparisons []Comparison `json:"comparisons"` // one for each other club
	Next        *Plan        `json:"next,omitempty"`
	Suspicion   *Suspicion   `json:"suspicion,omitempty"`     // the club seems to have changed
	Shots       []ShotRow    `json:"shots"`                   // of the session, in its order: the latest, where they are many
	Earlier     int          `json:"earlier_shots,omitempty"` // of the session, before those that are listed
	Loose       []ShotRow    `json:"loose"`                   // latest entries that are nobody's or were set aside, oldest first
	Open        []Question   `json:"open,omitempty"`          // shots between two builds, oldest first
	LastSeen    *Seen        `json:"last_seen,omitempty"`     // newest entry
	Oddities    []Oddity     `json:"oddities,omitempty"`      // events that did not fit
	Sensors     []Sensor     `json:"sensors,omitempty"`       // devices that drift or are set wrong
	Alarms      []string     `json:"alarms,omitempty"`        // two shots that claim one number, and the like
	Pending     int          `json:"pending,omitempty"`       // statements that are still being worked out
}

// Question is a shot that may have been hit with one build or another.
type Question struct {
	Shot    ShotRow  `json:"shot"`
	From    int64    `json:"from_unix_ns"` // hit no earlier; 0: not known
	To      int64    `json:"to_unix_ns"`   // and no later
	Choices []Choice `json:"choices"`
}

// Choice is an answer to it: the shot is moved to the trial (empty: nobody's)
// as of the instant.
type Choice struct {
	Trial string `json:"trial,omitempty"`
	At    int64  `json:"at_unix_ns"`
	Text  string `json:"text"`            // trial 3, part 2
	Build string `json:"build,omitempty"` // its name
}

// Session is one club category in one bay.
type Session struct {
	ID       string `json:"id"`
	Visit    string `json:"visit"`
	Open     bool   `json:"open"`
	From     int64  `json:"from_unix_ns"`
	To       int64  `json:"to_unix_ns,omitempty"` // 0 while it is open
	Player   string `json:"player"`               // pseudonym
	Hand     string `json:"hand"`                 // right, left, unknown
	Category string `json:"category"`
	Fitter   string `json:"fitter,omitempty"`
	Aim      string `json:"aim,omitempty"` // what the player came for, in the player's words
	Consent  bool   `json:"pooling_consent"`
	Minor    bool   `json:"minor"`
	N        int    `json:"n"` // shots that count
}

// Now is what holds for the next shot.
type Now struct {
	Trial       string  `json:"trial,omitempty"`
	Row         string  `json:"row,omitempty"` // key of the row that the next shot of the player joins
	Part        int     `json:"part,omitempty"`
	Paused      bool    `json:"paused"`
	Hitter      string  `json:"hitter"` // player, fitter, guest
	Intent      string  `json:"intent"` // normal, full_effort, shaping
	Class       string  `json:"class"`  // full, partial, practice, no_ball
	ClassLength float64 `json:"class_length_m,omitempty"`
	Instruction string  `json:"instruction,omitempty"`
}

// Setting is where and with what balls the shots are hit.
type Setting struct {
	Place            string   `json:"place,omitempty"`
	Surface          string   `json:"surface,omitempty"`
	TeeHeightM       *float64 `json:"tee_height_m,omitempty"`
	BallModel        string   `json:"ball_model,omitempty"`
	BallClass        string   `json:"ball_class,omitempty"`
	TargetBearingDeg *float64 `json:"target_bearing_deg,omitempty"`
	GreenSpeedM      *float64 `json:"green_speed_m,omitempty"`
	WindSpeedMps     *float64 `json:"wind_speed_mps,omitempty"`
	WindTowardDeg    *float64 `json:"wind_toward_deg,omitempty"`
	TargetDistanceM  *float64 `json:"target_distance_m,omitempty"`
}

// Trial is one row.
type Trial struct {
	Key         string  `json:"key"` // names the row within the session
	ID          string  `json:"id"`
	Number      int     `json:"number"` // of the trial in its session, from 1
	Part        int     `json:"part"`   // from 1
	Parts       int     `json:"parts"`
	Club        int     `json:"club"` // number of the build in the session, from 1: trials of one build share it
	Name        string  `json:"name"`
	Running     bool    `json:"running"`
	Class       string  `json:"class"`
	ClassLength float64 `json:"class_length_m,omitempty"`
	Intent      string  `json:"intent"`
	Instruction string  `json:"instruction,omitempty"`
	Why         string  `json:"why,omitempty"` // it was hit, in words; absent: nobody said

	Gamer   bool     `json:"gamer"`
	Build   []Spec   `json:"build"`             // what is known of it
	Against string   `json:"against,omitempty"` // row key of the build that changes are told against
	Changes []Change `json:"changes"`           // this build's differences from that one
	Feels   []Feel   `json:"feels,omitempty"`

	N        int             `json:"n"` // shots that count
	Excluded int             `json:"excluded"`
	SetAside int             `json:"set_aside"`
	Fields   map[string]Mean `json:"fields"` // by column name, with its unit: launch_angle_deg
	Landing  int             `json:"landing_n"`

	Primary   []Judged `json:"primary"`              // what the category is judged by
	Carry     *Stat    `json:"carry_m,omitempty"`    // mean
	Offline   *Stat    `json:"offline_m,omitempty"`  // mean
	Direction *Mean    `json:"direction_deg"`        // of the landing point or start line; null: none measured
	CarrySD   *Stat    `json:"carry_sd_pct"`         // in percent of the mean carry; null for putts
	DirSD     *Stat    `json:"direction_sd_deg"`     // null for putts
	WidthM    *Stat    `json:"width_sd_m,omitempty"` // sd of direction across, at the mean carry
	Scatter   *Scatter `json:"scatter_m,omitempty"`  // carry, offline
	NextShot  *Ellipse `json:"next_shot,omitempty"`  // 95 %
	Strike    *Strike  `json:"strike,omitempty"`
	LastFive  []Recent `json:"last_five,omitempty"`
	Drifting  bool     `json:"drifting,omitempty"` // the last five differ more than chance explains

	Deep *Deep `json:"deep,omitempty"` // takes longer; may be of fewer shots
	// Compared says which of the shots a comparison leaves out; null: none, or
	// nothing is compared.
	Compared *Compared `json:"compared,omitempty"`
}

// Mean is mean and standard deviation of one quantity.
type Mean struct {
	N    int      `json:"n"`
	Mean float64  `json:"mean"`
	SD   *float64 `json:"sd,omitempty"` // from two values on
}

// Judged is a trial by one of the outcomes that its category is judged by.
type Judged struct {
	Name string `json:"name"` // with its unit: direction_sd_deg
	Stat Stat   `json:"stat"`
}

// Strike is where on the face the shots were struck, m from its centre.
type Strike struct {
	N        int      `json:"n"`
	X        float64  `json:"x_m"`
	Y        float64  `json:"y_m"`
	OffMean  Stat     `json:"off_centre_m"`
	Next     *Ellipse `json:"next_strike,omitempty"`
	SpreadLn Stat     `json:"spread_ln"`
}

// Recent is one quantity over the last five shots against the shots before.
type Recent struct {
	Column string  `json:"column"`
	Last   float64 `json:"last_mean"`
	Before float64 `json:"before_mean"`
	T      float64 `json:"t"` // difference in standard errors
}

// Deep is what takes longer to work out.
type Deep struct {
	N          int       `json:"n"` // shots it is of
	Misses     []Miss    `json:"misses"`
	WorstTenth Stat      `json:"worst_tenth_m"` // distance from the aim that one shot in ten exceeds
	Suspects   []Suspect `json:"suspects,omitempty"`
}

// Miss is a miss that hurts and its odds.
type Miss struct {
	Side   string  `json:"side"`
	Beyond float64 `json:"beyond_m"`
	Odds   Stat    `json:"odds"`
	Hits   int     `json:"hits"`
}

// Suspect is a shot that does not look like its row: a question to the fitter.
type Suspect struct {
	Shot   string `json:"shot"`
	Number int    `json:"number"`
	Reason string `json:"reason"`
}

// Feel is what the player felt of a trial.
type Feel struct {
	Event  string `json:"event"`
	Words  string `json:"words,omitempty"`
	Liking int32  `json:"liking"` // -2 dislikes .. +2 likes
}

// ShotRow is one entry.
type ShotRow struct {
	ID       string             `json:"id"`
	Journal  string             `json:"journal"`
	Seq      uint64             `json:"seq"`
	At       int64              `json:"at_unix_ns"`
	Number   int                `json:"number,omitempty"` // in the session, from 1
	Row      string             `json:"row,omitempty"`
	Trial    string             `json:"trial,omitempty"`
	TrialNo  int                `json:"trial_number,omitempty"`
	InTrial  int                `json:"in_trial,omitempty"` // from 1
	Status   string             `json:"status"`
	Reason   string             `json:"reason,omitempty"`
	Swap     int                `json:"swap,omitempty"` // shots since the club in hand changed; 1 is the first
	Moved    bool               `json:"moved,omitempty"`
	Class    string             `json:"class,omitempty"`
	Device   string             `json:"device,omitempty"`
	Second   string             `json:"second_device,omitempty"` // whose view of the same hit fills in values
	Values   map[string]float64 `json:"values"`                  // by column name, five decimals
	Computed []string           `json:"computed,omitempty"`      // columns of Values that we computed
	Dir      *float64           `json:"direction_deg,omitempty"`
}

// Seen is an entry named by journal and seq.
type Seen struct {
	Journal string `json:"journal"`
	Seq     uint64 `json:"seq"`
}

// Oddity is an event that did not fit, and what was made of it.
type Oddity struct {
	Event string `json:"event"`
	At    int64  `json:"at_unix_ns"`
	Text  string `json:"text"`
}
