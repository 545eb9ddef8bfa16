package store

import (
	"context"
	"fmt"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// Unerased lists the sessions of a bay that were erased by an event and that
// the store shows all the same: their rows have yet to be written again.
func (s *Store) Unerased(ctx context.Context, place stream.Place) ([]string, error) {
	const question = `WITH erased_sessions AS (SELECT session FROM visit_events WHERE studio = {studio:String} AND bay = {bay:String} AND kind = 'session_erased')
		SELECT DISTINCT session FROM entries FINAL WHERE studio = {studio:String} AND bay = {bay:String} AND session IN (SELECT session FROM erased_sessions) AND NOT erased
		UNION DISTINCT
		SELECT DISTINCT session FROM trials FINAL WHERE studio = {studio:String} AND bay = {bay:String} AND session IN (SELECT session FROM erased_sessions) AND n + n_excluded + n_set_aside > 0
		UNION DISTINCT
		SELECT DISTINCT session FROM verdicts FINAL WHERE studio = {studio:String} AND bay = {bay:String} AND session IN (SELECT session FROM erased_sessions) AND live`
	return s.texts(ctx, "erased sessions that are shown", question, named{"studio": place.Studio, "bay": place.Bay})
}

// ErasedSessions lists the sessions of a bay whose erasure the store knows and
// whose events it holds in what is left of them only.
func (s *Store) ErasedSessions(ctx context.Context, place stream.Place) ([]string, error) {
	const question = `SELECT session FROM (SELECT session, kind, body FROM visit_events FINAL WHERE studio = {studio:String} AND bay = {bay:String}) GROUP BY session
		HAVING countIf(kind = 'session_erased') > 0 AND countIf(kind != 'session_erased' AND NOT JSONExtractBool(body, 'erased')) = 0`
	return s.texts(ctx, "erased sessions", question, named{"studio": place.Studio, "bay": place.Bay})
}

// Held counts rows that speak of a player or of sessions, each entity once.
type Held struct {
	Entries  uint64 `json:"entries"`
	Trials   uint64 `json:"trials"`
	Verdicts uint64 `json:"verdicts"`
	Events   uint64 `json:"visit_events"`
	Fleet    uint64 `json:"fleet_rows"` // copies in snapshots of the fleet
}

// Sum is the number of rows in all.
func (h Held) Sum() uint64 { return h.Entries + h.Trials + h.Verdicts + h.Events + h.Fleet }

// what speaks of a player: rows under the id, and those of the sessions, old
// versions included. A row that was erased does not count. The keys of erased
// entries find their old versions, whatever those were tagged as.
var spoken = []struct{ table, count, where string }{
	{"entries", "uniqExact(studio, bay, journal, seq, shot_id)", `studio = {studio:String} AND NOT erased AND (player = {player:String} OR session IN {sessions:Array(String)}
		OR (studio, bay, journal, seq, shot_id) IN (SELECT studio, bay, journal, seq, shot_id FROM entries WHERE studio = {studio:String} AND erased AND session IN {sessions:Array(String)}))`},
	{"trials", "uniqExact(studio, bay, session, trial, part)", `studio = {studio:String} AND (player = {player:String} OR session IN {sessions:Array(String)} AND (n + n_excluded + n_set_aside > 0 OR build != {nobuild:String}))`},
	{"verdicts", "uniqExact(studio, bay, id)", `studio = {studio:String} AND (player = {player:String} OR session IN {sessions:Array(String)} AND (live OR player != '' OR words != '' OR trial != '' OR baseline != '' OR notEmpty(promised.outcome)))`},
	{"visit_events", "uniqExact(studio, bay, id)", `studio = {studio:String} AND session IN {sessions:Array(String)} AND kind != 'session_erased' AND NOT JSONExtractBool(body, 'erased')`},
}

// fleetCopies are the tables of snapshots that name players, and what of them is
// a player's. A pseudonym is a studio's own: another studio of the same store
// may have given it to somebody else. Who agreed to be told of as one with a player of
// another studio is there under an id of both (fleet_joins).
var fleetCopies = []string{"fleet_trials", "profiles"}

const ofPlayer = "studio = {studio:String} AND (player = {player:String} OR player IN " +
	"(SELECT joined FROM fleet_joins WHERE player = {player:String}))"

// Spoken counts what still speaks of a player and of the player's sessions.
func (s *Store) Spoken(ctx context.Context, studio, player string, sessions []string) (h Held, err error) {
	into := map[string]*uint64{"entries": &h.Entries, "trials": &h.Trials, "verdicts": &h.Verdicts, "visit_events": &h.Events}
	args := erasing(studio, player, sessions)
	for _, t := range spoken {
		if *into[t.table], err = s.count(ctx, "SELECT "+t.count+" FROM "+t.table+" WHERE "+t.where, args); err != nil {
			return h, fmt.Errorf("count %s of player %s: %w", t.table, player, err)
		}
	}
	for _, table := range fleetCopies {
		n, err := s.count(ctx, "SELECT count() FROM "+table+" WHERE "+ofPlayer, args)
		if err != nil {
			return h, fmt.Errorf("count %s of player %s: %w", table, player, err)
		}
		h.Fleet += n
	}
	n, err := s.count(ctx, "SELECT count() FROM fleet_joins WHERE player = {player:String}", args)
	if err != nil {
		return h, fmt.Errorf("count fleet_joins of player %s: %w", player, err)
	}
	h.Fleet += n
	return h, nil
}

// HitAsGuest counts the shots that a player hit in sessions of others.
func (s *Store) HitAsGuest(ctx context.Context, studio, player string) (uint64, error) {
	n, err := s.count(ctx, "SELECT uniqExact(studio, bay, journal, seq, shot_id) FROM entries FINAL WHERE studio = {studio:String} AND "+
		"hitter = {player:String} AND player != {player:String} AND NOT erased", erasing(studio, player, nil))
	if err != nil {
		return 0, fmt.Errorf("count shots of guest %s: %w", player, err)
	}
	return n, nil
}

// Scrub takes what still speaks of a player out of the tables, old versions of
// rows that were written again included, and returns when the parts that hold
// them have been written anew. It may be called again at any time.
func (s *Store) Scrub(ctx context.Context, studio, player string, sessions []string) error {
	args := erasing(studio, player, sessions)
	for _, t := range spoken {
		if n, err := s.count(ctx, "SELECT count() FROM "+t.table+" WHERE "+t.where, args); err != nil {
			return fmt.Errorf("scrub %s: %w", t.table, err)
		} else if n == 0 {
			continue
		}
		// 2: all replicas; the subquery gives the same on each once they agree.
		statement := "ALTER TABLE " + t.table + " DELETE WHERE " + args.literal(t.where) +
			" SETTINGS mutations_sync = 2, allow_nondeterministic_mutations = 1"
		if err := s.conn.Exec(ctx, statement); err != nil {
			return fmt.Errorf("scrub %s: %w", t.table, err)
		}
	}
	for _, table := range fleetCopies {
		statement := args.literal("ALTER TABLE " + table + " DELETE WHERE " + ofPlayer + " SETTINGS mutations_sync = 2, " +
			"allow_nondeterministic_mutations = 1")
		if err := s.conn.Exec(ctx, statement); err != nil {
			return fmt.Errorf("scrub %s: %w", table, err)
		}
	}
	// Last, since it is by these that the rows above are found.
	statement := args.literal("ALTER TABLE fleet_joins DELETE WHERE player = {player:String} SETTINGS mutations_sync = 2")
	if err := s.conn.Exec(ctx, statement); err != nil {
		return fmt.Errorf("scrub fleet_joins: %w", err)
	}
	return nil
}

// Erasure is a request to be forgotten.
type Erasure struct {
	Studio   string
	Player   string
	Asked    time.Time
	Finished time.Time // zero: something may be left
	Who      string    // who carried it out
	Sessions []string
	Entries  uint64 // that were erased
}

// Erasures lists the requests of a studio, by player.
func (s *Store) Erasures(ctx context.Context, studio string) (map[string]Erasure, error) {
	rows, err := s.conn.Query(ctx, "SELECT player, asked, finished, who, sessions, entries FROM erasures FINAL WHERE studio = ?", studio)
	if err != nil {
		return nil, fmt.Errorf("erasures: %w", err)
	}
	defer rows.Close()
	out := map[string]Erasure{}
	for rows.Next() {
		e := Erasure{Studio: studio}
		if err := rows.Scan(&e.Player, &e.Asked, &e.Finished, &e.Who, &e.Sessions, &e.Entries); err != nil {
			return nil, fmt.Errorf("erasures: %w", err)
		}
		if e.Finished.Unix() == 0 {
			e.Finished = time.Time{}
		}
		out[e.Player] = e
	}
	return out, rows.Err()
}

// RecordErasure writes how far a request went.
func (s *Store) RecordErasure(ctx context.Context, e Erasure) error {
	if e.Finished.IsZero() {
		e.Finished = time.Unix(0, 0)
	}
	batch, err := s.conn.PrepareBatch(ctx, "INSERT INTO erasures (studio, player, asked, finished, who, sessions, entries)")
	if err == nil {
		if err = batch.Append(e.Studio, e.Player, e.Asked.UTC(), e.Finished.UTC(), e.Who, e.Sessions, e.Entries); err == nil {
			err = batch.Send()
		}
	}
	if err != nil {
		return fmt.Errorf("record the erasure of %s: %w", e.Player, plain(err))
	}
	return nil
}

func erasing(studio, player string, sessions []string) named {
	return named{"studio": studio, "player": player, "sessions": arrayLiteral(sessions), "nobuild": event.BuildKey(nil)}
}
