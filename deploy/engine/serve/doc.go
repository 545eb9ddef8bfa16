// Package serve answers ClickHouse's HTTP interface on the loopback interface from the embedded engine: as
// much of it as clickhouse-go (Protocol: clickhouse.HTTP) and curl need.
//
// How a request goes: the body is read to its end (Body), so that a request that breaks off has no effect at
// all; the statement is told apart from the rows that follow it (Parse); a connection is taken (Pool), which
// then is a session of its own; SELECTs in formats that can be cut are streamed, INSERTs are fed piece by
// piece, everything else is run in one go. Who disconnects has their statement killed.
//
// Errors before the first byte of output are status 500 with the text and its code in
// X-ClickHouse-Exception-Code. An error after it cannot change the status any more: the text follows in the
// body between __exception__ marks, and the response is broken off, so that no client takes it for whole.
// See https://clickhouse.com/docs/interfaces/http (HTTP response codes caveats).
package serve
