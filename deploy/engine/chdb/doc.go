// Package chdb binds libchdb, the ClickHouse engine as a shared library, to Go without cgo.
//
// The library is opened by Load, never by an import, so a program that links this package starts and
// explains itself where the library is missing. Only cmd/fairlead-engine may link it: the dynamic loader
// that it needs ties a Linux binary to glibc, and the bay's binary has to stay static.
//
// The engine is one per process: one storage folder, any number of connections to it. A Conn is a session
// (settings, current database) and runs one statement at a time; its methods are not safe for concurrent
// use. Errors of the engine are *Error and carry ClickHouse's code.
//
// The functions and their contracts are those of chdb.h of chdb-core 26.7.
package chdb
