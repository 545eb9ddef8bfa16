package answers

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// Stored is an answer as it is kept.
type Stored struct {
	ID           string             `json:"id"`
	Kind         string             `json:"kind"`
	Model        string             `json:"model"`
	Question     Question           `json:"question"`
	QuestionHash string             `json:"question_hash"`
	Label        string             `json:"label"`
	Asked        time.Time          `json:"asked"`
	Seconds      float64            `json:"seconds"`
	Mark         Mark               `json:"mark"`
	Trials       uint64             `json:"trials"`
	Players      uint64             `json:"players"`
	Studios      uint64             `json:"studios,omitempty"` // 0: not counted
	Refused      string             `json:"refused,omitempty"` // why there is not enough to say
	Answer       *fleet.Answer      `json:"answer,omitempty"`
	Diagnostics  []fleet.Diagnostic `json:"diagnostics,omitempty"`
	HeadOffice   *Origin            `json:"head_office,omitempty"` // nil: the studio's own store gave it
	Wanders      []Wander           `json:"wanders,omitempty"`     // of a head office, with its answer on carry
	kept         bool               // it was there before
}

// ErrNoAnswer says that an answer is not kept.
var ErrNoAnswer = errors.New("no such answer is kept")

func (f *Fleet) keep(ctx context.Context, s *Stored) error {
	body, err := json.Marshal(s)
	if err != nil {
		return fmt.Errorf("keep an answer: %w", err)
	}
	err = f.put(ctx, "keep an answer", question.KeepAnswer(), []any{s.ID, s.QuestionHash, s.Kind, s.Model, s.Question.Filter.Category,
		s.Question.Outcome, s.Label, s.Asked, s.Seconds, s.Mark.Snapshot, s.Mark.Inserted, s.Mark.Version, s.Trials, s.Players, s.Refused,
		string(body)})
	if err != nil {
		return err
	}
	// The fit at hand holds its rows; what is cached is what can be read again.
	copied := &Stored{}
	if err := json.Unmarshal(body, copied); err != nil {
		return fmt.Errorf("keep an answer: %w", err)
	}
	f.cache.put(copied)
	return nil
}

// Answer is the kept answer with this id, or ErrNoAnswer.
func (f *Fleet) Answer(ctx context.Context, id string) (*Stored, error) {
	if s := f.cache.get(id); s != nil {
		return s, nil
	}
	s, err := f.one(ctx, id)
	if errors.Is(err, ErrNoAnswer) {
		return f.ofOffice(ctx, question.PriorOne(), clickhouse.Named("v", id))
	}
	return s, err
}

// AnswerOr is the kept answer with an id or, without one, the answer to a question.
func (f *Fleet) AnswerOr(ctx context.Context, id string, q Question, how Asking) (*Stored, error) {
	if id == "" {
		return f.Ask(ctx, q, how)
	}
	return f.Answer(ctx, id)
}

// Newest is the kept answer to this question of the newest data, or ErrNoAnswer.
func (f *Fleet) Newest(ctx context.Context, q Question) (*Stored, error) {
	var id string
	rows, err := f.store.Conn().Query(ctx, question.NewestAnswer(),
		clickhouse.Named("v", q.Hash()), clickhouse.Named("m", fleet.Version))
	if err != nil {
		return nil, fmt.Errorf("kept answers: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		if err := rows.Err(); err != nil {
			return nil, fmt.Errorf("kept answers: %w", err)
		}
		return nil, ErrNoAnswer
	}
	if err := rows.Scan(&id); err != nil {
		return nil, fmt.Errorf("kept answers: %w", err)
	}
	rows.Close()
	return f.Answer(ctx, id)
}

func (f *Fleet) one(ctx context.Context, value string) (*Stored, error) {
	rows, err := f.store.Conn().Query(ctx, question.Answer(), clickhouse.Named("v", value))
	if err != nil {
		return nil, fmt.Errorf("kept answers: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		if err := rows.Err(); err != nil {
			return nil, fmt.Errorf("kept answers: %w", err)
		}
		return nil, ErrNoAnswer
	}
	var body string
	if err := rows.Scan(&body); err != nil {
		return nil, fmt.Errorf("kept answers: %w", err)
	}
	s := &Stored{}
	if err := json.Unmarshal([]byte(body), s); err != nil {
		return nil, fmt.Errorf("kept answer %s: %w", value, err)
	}
	f.cache.put(s)
	return s, nil
}

// Line is a kept answer in a list.
type Line struct {
	ID       string    `json:"id"`
	Category string    `json:"category"`
	Outcome  string    `json:"outcome"`
	Label    string    `json:"label"`
	Asked    time.Time `json:"asked"`
	Seconds  float64   `json:"seconds"`
	Trials   uint64    `json:"trials"`
	Players  uint64    `json:"players"`
	Refused  string    `json:"refused,omitempty"`
}

// Lines lists the newest answer to each question, the newest questions first.
func (f *Fleet) Lines(ctx context.Context, most int) ([]Line, error) {
	rows, err := f.store.Conn().Query(ctx, question.Answers(most))
	if err != nil {
		return nil, fmt.Errorf("kept answers: %w", err)
	}
	defer rows.Close()
	var out []Line
	for rows.Next() {
		var l Line
		if err := rows.Scan(&l.ID, &l.Category, &l.Outcome, &l.Label, &l.Asked, &l.Seconds, &l.Trials, &l.Players, &l.Refused); err != nil {
			return nil, fmt.Errorf("kept answers: %w", err)
		}
		out = append(out, l)
	}
	return out, rows.Err()
}

// answerCache holds the answers read last; they never change.
type answerCache struct {
	mu    sync.Mutex
	kept  map[string]*Stored
	order []string
}

const cached = 64

func (c *answerCache) get(id string) *Stored {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.kept[id]
}

func (c *answerCache) put(s *Stored) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kept == nil {
		c.kept = map[string]*Stored{}
	}
	if c.kept[s.ID] == nil {
		c.order = append(c.order, s.ID)
	}
	c.kept[s.ID] = s
	if len(c.order) > cached {
		delete(c.kept, c.order[0])
		c.order = c.order[1:]
	}
}
