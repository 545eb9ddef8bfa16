package question

import (
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

// one is a question as a caller asks it; of a condition, the table it stands over.
type one struct {
	file, sql string
	args      []any
	over      string
}

func named(pairs ...string) (out []any) {
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, clickhouse.Named(pairs[i], pairs[i+1]))
	}
	return out
}

// questionsAsked are all of them, a file each.
func questionsAsked() []one {
	const player, all, trials = "player = 'p-7kq2m' AND ", "snapshot = 7", "fleet_trials"
	bay, verdict := []any{"harbour-row", "north"}, []any{"harbour-row", "e-1"}
	id := named("id", "x")
	joined := "transform(player, ['h-a', 'h-b'], ['j-1', 'j-1'], player)"
	v := named("v", "x", "m", "1", "b", "7", "f", "flight-1")
	when := named("studio", "harbour-row", "session", "s-1", "trial", "t-1",
		"bay", "north", "from", "2026-05-01 00:00:00", "to", "2026-05-02 00:00:00")
	return []one{
		{file: "profiles", sql: Profiles(7, player)}, {file: "fleet_trials", sql: Trials(7, player, Profiles(7, player))},
		{file: "fleet_counts", sql: Counts(7)}, {file: "fleet_older", sql: Older(7)}, {file: "fleet_latest", sql: Latest()},
		{file: "fleet_repeats", sql: Repeats(7), args: named("c", "driver", "b", "7")},
		{file: "paper_returns", sql: Returns(), args: named("s", "harbour-row", "c", "driver", "n", "4", "b", "7")},
		{file: "trials_mark", sql: TrialsMark()}, {file: "fleet_outdated", sql: OutdatedTrials()},
		{file: "fleet_builds", sql: Snapshot(7, "")[2].SQL}, {file: "fleet_days",
			sql: Snapshot(7, "")[3].SQL},
		{file: "fleet_figures", sql: Figures(all, 3)}, {file: "fleet_figures_by_day", sql: FiguresByDay(all, 3)},
		{file: "fleet_page", sql: Page("studio, n", all, "'p-1'", 9)}, {file: "fleet_rows", sql: Rows([]string{"n"}, trials, "player")},
		{file: "fleet_count", sql: Count(all)}, {file: "fleet_players", sql: Players(all)}, {file: "fleet_holding", sql: Holding(all)},
		{file: "fleet_errors", sql: Errors(all, true)},
		{file: "fleet_errors", sql: Errors(all, false)}, {file: "fleet_checks", sql: BayChecks()}, {file: "fleet_keep_biases", sql: KeepBiases()},
		{file: "profiles", sql: Profiles(0, player)}, {file: "fleet_speeds", sql: Speeds(all)},
		{file: "fleet_studios", sql: Studios(all, 5)}, {file: "fleet_choices", sql: Choices(all)},
		{file: "fleet_spans", sql: Spans(all)}, {file: "fleet_stock", sql: Stock(all, 3)}, {file: "fleet_keep", sql: KeepSnapshot()},
		{file: "fleet_with", sql: With(7, "'b', 'c'"), over: trials}, {file: "fleet_between", sql: Between(7, "'b', 'c'"), over: trials},
		{file: "fleet_drop", sql: Drop("profiles", 7)}, {file: "fleet_forget", sql: Forget("profiles"), args: []any{"p-7kq2m"}},
		{file: "fleet_swing", sql: Swing(Profiles(7, player))}, {file: "known_hit", sql: Hit(player)},
		{file: "trial_when", sql: TrialWhen(), args: when[:3]},
		{file: "trial_shots", sql: TrialShots(), args: when},
		{file: "answer_keep", sql: KeepAnswer()}, {file: "answer_keep_figures", sql: KeepFigures()},
		{file: "answer_figures", sql: KeptFigures(), args: named("kind", "figures", "id", "x")},
		{file: "answer_newest", sql: NewestAnswer(), args: v[:2]}, {file: "answer_before", sql: AnswersBefore(), args: v},
		{file: "answer_one", sql: Answer(), args: v[:1]}, {file: "answer_lines", sql: Answers(9)},
		{file: "answer_whom", sql: Whom(), args: v[2:]},
		{file: "answer_freeze", sql: Freeze()}, {file: "answer_frozen", sql: Frozen(), args: v[:1]},
		{file: "answer_night", sql: Night(), args: named("kind", "night")},
		{file: "fleet_keep_joins", sql: KeepJoins()}, {file: "fleet_joined", sql: JoinedAs(), args: v[:1]},
		{file: "profiles", sql: profilesOf(7, "", joined)},
		{file: "fleet_trials", sql: trialsOf(7, "", Profiles(7, ""), joined)},
		{file: "fleet_studio_count", sql: StudioCount(all)}, {file: "prior_keep", sql: KeepPrior()},
		{file: "prior_before", sql: PriorBefore(), args: v}, {file: "prior_one", sql: PriorOne(), args: v[:1]},
		{file: "prior_ids", sql: PriorIDs()}, {file: "prior_old", sql: OldPriors(), args: named("v", "x", "id", "y", "b", "7")},
		{file: "answer_promises", sql: Promises(), args: named("category", "", "verdict", "", "studio", "")},
		{file: "answer_checks", sql: Checks(), args: named("category", "", "verdict", "v-1", "studio", "harbour-row")},
		{file: "comment_columns", sql: EveryColumn()}, {file: "comment_view_as", sql: ViewAs(), args: []any{"shots"}},
		{file: "comment_view", sql: CommentView("shots", "`seq` UInt64 COMMENT 'a number'", "SELECT seq FROM entries")},
		{file: "comment_table", sql: CommentTable("entries", "COMMENT COLUMN seq 'a number'")},
		{file: "export_days", sql: ExportDays("first_shot", "trial_rows", "1")},
		{file: "trade_months", sql: Months("1", "1")}, {file: "trade_chosen", sql: Chosen("1", "1")}, {file: "trade_never", sql: Never("1",
			"1", 5)},
		{file: "trade_kept", sql: Checked("1")},
		{file: "paper_hit_check", sql: HitCheck(), args: verdict},
		{file: "studio_kept", sql: PromisesKept(), args: bay[:1]},
		{file: "paper_earlier", sql: EarlierVisit(), args: []any{"harbour-row", "p-7kq2m", "iron", "v-1", 5, int64(7)}},
		{file: "paper_shots", sql: SessionShots(), args: append(bay, "s-1")},
		{file: "paper_events", sql: VisitEvents(), args: append(bay, "v-1")},
		{file: "paper_verdict", sql: Verdict(), args: verdict}, {file: "paper_bays", sql: VisitBays(), args: verdict},
		{file: "paper_verdicts", sql: Verdicts(), args: []any{"harbour-row", 50}},
		{file: "own_shots", sql: OwnShots(), args: []any{"harbour-row", "p-7kq2m", int64(7)}},
		{file: "audit_counts", sql: BayCounts(), args: bay}, {file: "audit_checksum", sql: Checksum("trials", "cityHash64(n)", "n > 0")},
		{file: "audit_tags", sql: BayTags(), args: bay}, {file: "demo_builds", sql: BuildsThatCount()},
		{file: "demo_others", sql: OtherStudios(), args: bay[:1]},
		{file: "ops_month", sql: BaysSince(), args: named("studio", "harbour-row", "since", "2026-05-01 00:00:00")},
		{file: "ops_studios", sql: OtherStudiosSince(), args: named("studio", "harbour-row", "day", "2026-05-01 00:00:00", "since",
			"2026-03-01 00:00:00")},
		{file: "ops_day", sql: BayByHour(), args: append(when[3:6:6], when[0])},
		{file: "known_studio", sql: Known("studio"), args: id}, {file: "known_player", sql: Known("player"), args: id},
		{file: "known_session", sql: Known("session"), args: id}, {file: "known_visit", sql: Known("visit"), args: id},
		{file: "export_sessions", sql: SessionsOf(), args: named("player", "p-7kq2m")},
		{file: "export_category", sql: OfCategory(), args: named("category", "iron"), over: "visit_events"},
		{file: "export_consented", sql: Consented(), over: "visit_events"},
		{file: "export_counts", sql: Wanted("status", "consent", "shots_all", "1")},
		{file: "export_hidden", sql: Hidden("trials FINAL", "n = 0")},
		{file: "export_columns", sql: ColumnsOf(), args: []any{"shots_all"}}, {file: "export_rows", sql: Exported("n", "trials", "1", "n")},
	}
}

// Every question is one that the engine answers over the schema as it is, empty,
// and what a snapshot's columns are is what its table takes.
func TestEveryQuestionIsAnswered(t *testing.T) {
	e := enginetest.New(t)
	s, err := store.Open(e.DSN())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	var tried []string
	asked := questionsAsked()
	for _, q := range asked {
		tried = append(tried, q.file+".sql")
	}
	for _, step := range Snapshot(7, "") {
		asked = append(asked, one{file: step.What, sql: step.SQL})
	}
	for _, q := range asked {
		if strings.Contains(q.sql, "{{") || strings.Contains(q.sql, "--") || strings.Contains(q.sql, "<no value>") {
			t.Errorf("%s is not written out: %s", q.file, q.sql)
		}
		if err := ask(t, s, q); err != nil {
			t.Errorf("%s: %v", q.file, err)
		}
	}
	files, err := fs.Glob(os.DirFS("."), "*.sql")
	slices.Sort(tried)
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		if !slices.Contains(tried, f) {
			t.Errorf("%s is not tried here: give it a row in questionsAsked", f)
		}
	}
	for _, f := range tried {
		if !slices.Contains(files, f) {
			t.Errorf("%s is tried and not there", f)
		}
	}
}

// ask asks a question and reads the answer to its end.
func ask(t *testing.T, s *store.Store, q one) error {
	switch {
	case q.over != "":
		q.sql = "SELECT count() FROM " + q.over + " WHERE " + q.sql
	case strings.HasPrefix(q.sql, "INSERT INTO ") && !strings.Contains(q.sql, "SELECT"):
		batch, err := s.Conn().PrepareBatch(t.Context(), q.sql)
		if err != nil {
			return err
		}
		return batch.Abort()
	case !strings.HasPrefix(q.sql, "SELECT") && !strings.HasPrefix(q.sql, "WITH"):
		return s.Conn().Exec(t.Context(), q.sql, q.args...)
	}
	rows, err := s.Conn().Query(t.Context(), q.sql, q.args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
	}
	return rows.Err()
}

// A question about a field that there is none of is not written.
func TestAQuestionNamesFieldsThatThereAre(t *testing.T) {
	if _, err := field("CLUBHEAD_SPEED"); err != nil {
		t.Error(err)
	}
	if n, err := field("CLUBHED_SPEED"); err == nil {
		t.Errorf("a field that there is none of has number %d", n)
	}
	if _, err := shift("tempo"); err == nil {
		t.Error("a build moves the tempo")
	}
	if got := flex("f"); !strings.HasPrefix(got, "transform(f, ['L', 'l', 'L+', ") || strings.Contains(got, "NaN") {
		t.Errorf("flexes in SQL: %s", got)
	}
}
