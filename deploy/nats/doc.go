// Package nats holds configurations for a NATS server or cluster instead of the
// embedded broker. The tests run a server with them and hold what its keys may
// do against what the embedded broker grants.
package nats
