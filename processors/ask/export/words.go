package export

type word struct{ unit, sign, origin, meaning string }

const (
	bay    = "bay"
	fitter = "fitter"
	ours   = "Fairlead"
	device = "device"
)

// words describes the columns that are neither a field of the contract nor a
// part of a build.
var words = map[string]word{
	"studio": {"", "", bay, "studio, as its configuration names it"}, "bay": {"", "", bay, "bay of the studio"},
	"journal": {"", "", bay, "journal of the bay that took the entry, 16 hex digits"}, "seq": {"", "", bay, "number of the entry within its journal, from 1"},
	"shot_id": {"", "", ours, "names the shot wherever it is read: a hash of the device and its own shot id, or of the line"},
	"device":  {"", "", bay, "device, as its field map names it"}, "device_shot_id": {"", "", device, "the device's own id of the shot"},
	"role": {"", "", bay, "what the device describes of a hit: ball, club, roll, stroke"}, "feed": {"", "", bay, "feed that read the line"},
	"file": {"", "", bay, "file that the line stood in"}, "line": {"", "", bay, "line number in the file, from 1; 0: none"},
	"device_time": {"UTC", "", device, "the device's own clock; 1970: it gave none"}, "received": {"UTC", "", bay, "the bay's wall clock when the line was read"},
	"effective": {"UTC", "", bay, "when it was hit, on the hub's clock, frozen in the bay"}, "certainty": {"", "", bay, "of effective: unsure, synced, device (its own clock), between (an interval)"},
	"earliest": {"UTC", "", ours, "not hit before; equals at where the time is known, the epoch where it is not known from when"},
	"latest":   {"UTC", "", ours, "not hit after; equals at where the time is known, 2100 where it is not known until when"},
	"at":       {"UTC", "", ours, "when it was hit or decided, settled by order where the clock was unsure"},
	"inserted": {"UTC", "", ours, "when this version of the row was stored"}, "revision": {"", "", device, "revision of the shot, where the device numbers them"},
	"deleted": {"", "", device, "whether the device withdrew the shot"}, "faults": {"", "", bay, "why the line was no valid shot, as JSON"},
	"firmware": {"", "", device, "firmware of the device"}, "device_club": {"", "", device, "what the device calls the club; never taken as the build"},
	"status":  {"", "", ours, "whether and why it counts: counts, excluded, practice, no_ball, other_hitter, paused, nobody, paired, repeat, superseded, deleted, rejected, erased"},
	"reason":  {"", "", fitter, "why it does not count"},
	"visit":   {"", "", fitter, "the player's day"},
	"session": {"", "", fitter, "one kind of club in one bay"}, "trial": {"", "", fitter, "run of shots with one build, one hitter, one instruction"},
	"trial_number": {"", "", ours, "order of the trial in its session, from 1"}, "part": {"", "", ours, "part of the trial, from 1: an instruction splits it"},
	"moved": {"", "", fitter, "put into its trial by the fitter"}, "build": {"", "", ours, "key of the build's whole specification"},
	"build_name": {"", "", fitter, "the fitter's name for the build"}, "gamer": {"", "", fitter, "the player's own club"},
	"player": {"", "", fitter, "pseudonym of the player"}, "fitter": {"", "", fitter, "pseudonym of the fitter"}, "hitter": {"", "", fitter, "pseudonym of who hit, where it was not the player"},
	"player_name": {"", "", "people's file of the hub", "name of the player"}, "fitter_name": {"", "", "people's file of the hub", "name of the fitter"},
	"hitter_kind": {"", "", fitter, "player, fitter or guest"}, "hand": {"", "", fitter, "right, left or unknown"},
	"category": {"", "", fitter, "driver, wood, hybrid, iron, wedge, putter"}, "class": {"", "", fitter, "full, partial, practice, no_ball"},
	"class_length_m": {"m", "", fitter, "carry meant in a partial shot; 0: not stated"}, "intent": {"", "", fitter, "normal, full_effort, shaping"},
	"instruction": {"", "", fitter, "last instruction before the shot"}, "instructions": {"", "", ours, "instructions before the shot in its session"},
	"instruction_kind": {"", "", fitter, "setup or swing"}, "setting": {"", "", ours, "key of the setting"}, "place": {"", "", fitter, "indoor or outdoor"},
	"surface": {"", "", fitter, "mat, grass, tee"}, "ball_model": {"", "", fitter, "ball"}, "ball_class": {"", "", fitter, "premium, range, limited-flight, …"},
	"order_trial": {"", "", ours, "place among the player's shots of the trial, from 1"}, "order_session": {"", "", ours, "place in the session, from 1"},
	"swap": {"shots", "", ours, "shots since the club in hand changed, from 1"}, "paired_with": {"", "", ours, "the other device's entry of the same hit; zeros: none"},
	"consent": {"", "", "player", "may teach across players"}, "minor": {"", "", fitter, "the player is a minor"},

	"direction_deg": {"deg", right, ours, "of the landing point from the target line; a putt's start line"},
	"our_carry_m":   {"m", "", ours, "carry by our flight model, where the device left part of the flight open"}, "our_offline_m": {"m", right, ours, "the same of offline"},
	"our_apex_m": {"m", "", ours, "the same of the apex"}, "our_landing_angle_deg": {"deg", "positive down", ours, "the same of the landing angle"},
	"standard_air_carry_m": {"m", "", ours, "carry of the same shot in standard air"},
	"landing_carry_m":      {"m", "", "device, else Fairlead", "landing point as trials take it: carry"}, "landing_offline_m": {"m", right, "device, else Fairlead", "landing point as trials take it: offline"},
	"carry_air": {"", "", "device's map", "adjusted (to standard air, by the device), as flown, unstated, or empty"},

	"level":            {"", "", ours, "run of comparable trials of the session: compare within one only"},
	"first_shot_order": {"", "", ours, "place of the first shot in the session, from 1"}, "first_shot": {"UTC", "", ours, "when the first shot was hit"}, "last_shot": {"UTC", "", ours, "when the last shot was hit"},
	"n": {"shots", "", ours, "shots that count"}, "n_excluded": {"shots", "", ours, "excluded by the fitter"}, "n_set_aside": {"shots", "", ours, "set aside otherwise"},
	"n_landing": {"shots", "", ours, "shots that count and have a landing point"}, "n_directed": {"shots", "", ours, "shots that count and have a direction"},
	"carry_mean_m": {"m", "", ours, "mean of landing_carry_m"}, "offline_mean_m": {"m", right, ours, "mean of landing_offline_m"}, "direction_mean_deg": {"deg", right, ours, "mean of direction_deg"},
	"carry_sd_m": {"m", "", ours, "standard deviation of carry, divisor n−1"}, "offline_sd_m": {"m", "", ours, "standard deviation of offline"}, "direction_sd_deg": {"deg", "", ours, "standard deviation of direction"},
	"carry_sd_percent": {"% of carry", "", ours, "carry_sd_m in percent of carry_mean_m"}, "carry_offline_correlation": {"ratio", "", ours, "correlation of carry and offline, −1 to 1"},
	"area_ln": {"ln of m²", "", ours, "logarithm of the size of the landing scatter, without bias"}, "area_ln_var": {"(ln of m²)²", "", ours, "its sampling variance"},
	"direction_ln": {"ln of deg", "", ours, "logarithm of the spread in direction, without bias"}, "direction_ln_var": {"(ln of deg)²", "", ours, "its sampling variance"},
	"carry_ln": {"ln of % of carry", "", ours, "logarithm of the spread in carry, without bias"}, "carry_ln_var": {"(ln of % of carry)²", "", ours, "its sampling variance"},
	"direction_s4_deg4": {"deg⁴", "", ours, "sum of fourth powers of direction about its mean"}, "carry_s4_m4": {"m⁴", "", ours, "sum of fourth powers of carry about its mean"},
	"scatter_cc_m2": {"m²", "", ours, "sum of squares of carry about its mean"}, "scatter_co_m2": {"m²", "positive: long goes right", ours, "sum of products of carry and offline about their means"},
	"scatter_oo_m2": {"m²", "", ours, "sum of squares of offline about its mean"}, "direction_ss_deg2": {"deg²", "", ours, "sum of squares of direction about its mean"},

	"id": {"", "", fitter, "id of the event"}, "who": {"", "", fitter, "pseudonym of who said so"}, "recorded": {"UTC", "", ours, "when it was written down"},
	"kind": {"", "", fitter, "what was said or decided"}, "body": {"as its fields say", "", fitter, "the whole event as JSON; units stand in the names of its fields"},
	"words": {"", "", fitter, "the fitter's words"}, "baseline": {"", "", fitter, "trial that the chosen one was compared with"},
	"promised_outcome": {"", "", ours, "outcomes that the verdict promised"}, "promised_change": {"of the outcome", "candidate less baseline", ours, "promised changes"},
	"promised_low": {"of the outcome", "candidate less baseline", ours, "lower ends of their intervals"}, "promised_high": {"of the outcome", "candidate less baseline", ours, "upper ends of their intervals"},
	"promised_probability_better": {"ratio", "", ours, "odds that each is for the better, 0 to 1"}, "checked": {"", "", fitter, "whether the delivered club was hit again"}, "check_trial": {"", "", fitter, "trial of that hit check"},
}
