package serve

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/chdb"
)

// Pool hands out sessions. One that a statement may have changed (settings, current database, temporary
// tables) is closed after use, the others are used again: a request never sees what another one set.
type Pool struct {
	lib      *chdb.Library
	args     []string
	database string
	lanes    map[engine.Purpose]*lane
	judge    *judge
	wait     time.Duration

	mu    sync.Mutex
	idle  []*session
	count int

	// controlMu is a lock of its own: a slow answer to a scrape must not keep statements waiting.
	controlMu sync.Mutex
	control   *session
}

// session is a connection with a mark by which its running statement can be found and killed.
type session struct {
	*chdb.Conn
	mark string
	lane *lane // whose place it takes, while it is taken
	// used says that a statement ran that may have left something behind.
	used bool
}

// NewPool makes a pool of at most size sessions that run at a time. Args go to each connection; the database
// is created if it is not there. It takes two sessions more, for killing and for judging. Memory is the
// engine's, of which each purpose has its part; 0: no parts are set.
func NewPool(lib *chdb.Library, args []string, database string, size int, memory uint64) (*Pool, error) {
	p := &Pool{lib: lib, args: args, lanes: lanes(size, memory), wait: 10 * time.Second}
	control, err := p.open()
	if err != nil {
		return nil, err
	}
	if _, err := control.Query("CREATE DATABASE IF NOT EXISTS "+identifier(database), "Null"); err != nil {
		control.Close()
		return nil, fmt.Errorf("create database %s: %w", database, err)
	}
	p.database, p.control = database, control
	if p.judge, err = newJudge(p); err != nil {
		control.Close()
		return nil, err
	}
	return p, nil
}

func (p *Pool) open() (*session, error) {
	p.mu.Lock()
	p.count++
	mark := fmt.Sprintf("session %d;", p.count)
	p.mu.Unlock()
	c, err := p.lib.Connect(append([]string{"--log_comment=" + mark}, p.args...)...)
	if err != nil {
		return nil, err
	}
	s := &session{Conn: c, mark: mark}
	if p.database != "" {
		if _, err := s.Query("USE "+identifier(p.database), "Null"); err != nil {
			s.Close()
			return nil, err
		}
	}
	return s, nil
}

// errBusy says that every session stayed in use for the time that a request waits.
var errBusy = errors.New("Code: 202. DB::Exception: Too many simultaneous queries: none of the engine's sessions " +
	"became free; read the results of running queries to their end, or raise --sessions. (TOO_MANY_SIMULTANEOUS_QUERIES)")

var errClosing = errors.New("the engine is closing")

// take waits for a session in a lane.
func (p *Pool) take(ctx context.Context, l *lane) (*session, error) {
	select {
	case l.slots <- struct{}{}:
	default:
		late := time.NewTimer(p.wait)
		defer late.Stop()
		select {
		case l.slots <- struct{}{}:
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-late.C:
			return nil, errBusy
		}
	}
	p.mu.Lock()
	if n := len(p.idle); n > 0 {
		s := p.idle[n-1]
		p.idle = p.idle[:n-1]
		p.mu.Unlock()
		s.lane = l
		return s, nil
	}
	p.mu.Unlock()
	s, err := p.open()
	if err != nil {
		<-l.slots
		return nil, err
	}
	s.lane = l
	return s, nil
}

func (p *Pool) give(s *session) {
	l := s.lane
	if s.used {
		s.Close()
	} else {
		p.mu.Lock()
		p.idle = append(p.idle, s)
		p.mu.Unlock()
	}
	<-l.slots
}

// prepare makes the session that of the request: its database and its settings.
func (s *session) prepare(o options, database string, who string) error {
	if o.database != "" && o.database != database {
		s.used = true
		if _, err := s.Query("USE "+identifier(o.database), "Null"); err != nil {
			return err
		}
	}
	var set []string
	for _, x := range o.settings {
		if x.name == "log_comment" {
			continue // below, with the mark, which has to stay
		}
		set = append(set, x.name+" = "+literal(x.value))
	}
	if who != "" || o.comment() != "" {
		set = append(set, "log_comment = "+literal(s.mark+who+o.comment()))
	}
	if s.lane.readonly {
		set = append(set, "readonly = 1") // last: nothing can be set after it
	}
	if len(set) == 0 {
		return nil
	}
	s.used = true
	_, err := s.Query("SET "+strings.Join(set, ", "), "Null")
	return err
}

// kill stops the statement that the session runs, if it runs one that can be stopped.
func (p *Pool) kill(s *session) error {
	_, err := p.ask("KILL QUERY WHERE startsWith(Settings['log_comment'], " + literal(s.mark) + ") ASYNC")
	return err
}

// ask runs a short statement of our own, whatever the other sessions are busy with.
func (p *Pool) ask(sql string) (string, error) {
	p.controlMu.Lock()
	defer p.controlMu.Unlock()
	if p.control == nil {
		return "", errClosing
	}
	out, err := p.control.Query(sql, "TabSeparated")
	return strings.TrimSpace(string(out)), err
}

// Answers returns when the engine has answered a statement, whatever it said: a
// refusal for want of memory is an answer, too.
func (p *Pool) Answers(context.Context) error {
	_, _ = p.ask("SELECT 1")
	return nil
}

// Close closes the sessions; all must have been given back.
func (p *Pool) Close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.idle {
		s.Close()
	}
	p.idle = nil
	p.judge.close()
	p.controlMu.Lock()
	defer p.controlMu.Unlock()
	if p.control != nil {
		p.control.Close()
		p.control = nil
	}
}
