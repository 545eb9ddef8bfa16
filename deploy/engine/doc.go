// Package engine finds the embedded ClickHouse engine, starts it as a process of its own and connects to it.
//
// The engine itself is cmd/fairlead-engine; nothing here links its library, so every program may use this
// package, on every platform. A child engine ends with its parent: it watches its standard input, which the
// parent's death closes.
package engine
