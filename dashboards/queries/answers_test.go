package queries

// The answers for the studio of newWorld, worked out by hand from its shots;
// columns stand apart by |.
var answers = map[string]string{
	// Three trials of six: 200, 202 and 200 m; within trials Σ(c−c̄)² is 4, so the
	// sd is √(12/15) and 200.67 less 1.28 sd is 199.5; 50.7 m to the 7-iron.
	"bag_gapping.sql": `
Own driver|driver|10.5|18|200.7|199.5|201.8|50.7|0.2
Own 7-iron|iron|34|6|150|148.9|151.1|\N|0.4`,

	// Each row was stored two seconds after its line was read. North: 24 shots
	// on the first day, and three lines that did not count.
	"bay_delays.sql": `
harbour-row|north|2026-05-04|27|24|2|2|0
harbour-row|north|2026-06-01|12|12|2|2|0
harbour-row|pier|2026-05-04|4|4|2|2|0
harbour-row|quay|2026-05-04|12|12|2|2|0`,

	// The gamer: 18 shots in the north with 200.67 m, 0° and 2700 rpm, six in the
	// south with 196 m, 1° and 2800 rpm.
	"bays_against_each_other.sql": `north|south|1|24|-4.7|\N|1|\N|100|\N`,

	// Made 2 % longer than the model and 1 m to its right.
	"carry_against_model.sql": `pier|alder||unstated|2026-05-01|4|2|0|1`,

	// In two of Ada's three driver sessions (three trials and two) builds differ.
	"consent_pools.sql": `
driver|1|3|6|36|5|0|0|0
iron|1|1|1|6|0|1|1|12
wood|1|1|1|4|0|0|0|0`,

	// Of 39 entries of the feed in the north.
	"lines_that_did_not_count.sql": `
harbour-row|north|alder|rejected|ball_speed|above 105 m/s|2|5.13|151|2026-05-04 10:31:00.000000000
harbour-row|north|alder|repeat||the same line again|1|2.56||2026-05-04 10:32:00.000000000`,

	// One shot of 24 struck 30 mm from the centre; Wilson's interval of 1/24 is
	// .7 to 20.2 %, of 0/12 up to 3.84/(12 + 3.84).
	"mishits_by_build.sql": `
Half inch longer|7221919bbae3f409|1|12|0|0|0|24.3
Own driver|12ccbf1574e1e026|1|24|1|4.2|0.7|20.2`,

	// Driver 2026: speeds 42, 43, 42.5, 42, 42; Σ of squared directions
	// 16·(1 + ¼ + 1 + 1 + 1) = 68 on 25 degrees of freedom.
	"player_years.sql": `
driver|2025|1|1|6|41|196|1.79|0.46|\N
driver|2026|2|5|30|42.3|201.8|1.65|0.44|1.3
iron|2026|1|1|6|36|150|1.79|0.6|\N`,

	// At the hit check 203 m against 200 m beside it, and the same directions.
	"promise_against_reality.sql": `
driver|carry|same session|1|1|4|3|1|\N|100
driver|direction|same session|1|1|-0.69|0|-0.69|\N|0`,

	// From the first trial (shot 1, 42 m/s, 200 m) to the third (13, 42.5, 202).
	"same_club_again.sql": `driver|1|1|12|0.5|\N|2|\N|0|\N`,

	// Two trials 11 g heavier: ln ½ with variance ¼ψ′(5/2)·(1 + ½) = .1839 and 0
	// with .2452; weighted −.396 ± 1.96·.324. ψ′(5/2) = π²/2 − 4(1 + 1/9).
	"shaft_weight_and_direction.sql": `40|10|2|1|-32.7|-3`,

	// Half the spread, against two trials with the gamer: ln ½ ± 1.96·√.1839.
	"trial_against_gamer.sql": `1|t-ada-long|Half inch longer|6|0.89|1.79|-50|-78.4|15.9|0|3`,

	"trial_shots.sql": `
1|2026-05-04 10:07:00.000000000|counts||1|43|\N|\N|2700|203|measured|-3.5|-1|0|0|shots.csv:8
2|2026-05-04 10:08:00.000000000|counts||2|43|\N|\N|2700|204|measured|0|0|0|0|shots.csv:9
3|2026-05-04 10:09:00.000000000|counts||3|43|\N|\N|2700|205|measured|3.6|1|0|0|shots.csv:10
4|2026-05-04 10:10:00.000000000|counts||4|43|\N|\N|2700|203|measured|-3.5|-1|0|0|shots.csv:11
5|2026-05-04 10:11:00.000000000|counts||5|43|\N|\N|2700|204|measured|0|0|0|0|shots.csv:12
6|2026-05-04 10:12:00.000000000|counts||6|43|\N|\N|2700|205|measured|3.6|1|0|0|shots.csv:13`,

	"verdicts_by_category.sql": `
driver|build|1|100|1|1
iron|keep_gamer|1|100|1|0`,
}
