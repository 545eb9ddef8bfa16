package engine

import (
	"fmt"
	"net/url"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"
)

// user is sent with the token, which is all that the engine looks at; clickhouse-go sends no password alone.
const user = "default"

// Addr is host and port.
func (p *Process) Addr() string { return p.addr }

// Token is what every statement has to carry.
func (p *Process) Token() string { return p.token }

// Database is the one that statements use unless they name another.
func (p *Process) Database() string { return p.database }

// DSN is the address as clickhouse-go's ParseDSN and the commands' --clickhouse take it. It holds the token.
func (p *Process) DSN() string { return DSN(p.addr, p.token, p.database) }

// DSN is the address of an engine that somebody else started.
func DSN(addr, token, database string) string {
	return UserDSN(addr, user, token, database)
}

// UserDSN is the address for a user with a token of their own.
func UserDSN(addr, name, token, database string) string {
	u := url.URL{Scheme: "http", Host: addr, User: url.UserPassword(name, token), Path: "/" + database}
	return u.String()
}

// ClickHouse is how to reach the engine by clickhouse-go; the caller may change it before opening.
func (p *Process) ClickHouse() *clickhouse.Options {
	return &clickhouse.Options{
		Protocol:    clickhouse.HTTP,
		Addr:        []string{p.addr},
		Auth:        clickhouse.Auth{Database: p.database, Username: user, Password: p.token},
		DialTimeout: 5 * time.Second,
		// The answer's head comes with the first rows: this bounds the time to them.
		ReadTimeout: 10 * time.Minute,
	}
}

// Open connects.
func (p *Process) Open() (driver.Conn, error) {
	c, err := clickhouse.Open(p.ClickHouse())
	if err != nil {
		return nil, fmt.Errorf("connect to the engine: %w", err)
	}
	return c, nil
}
