//go:build race

package console

// raced says that the race detector runs: deploy/test.sh then leaves what a
// browser does to the run without it, where pages answer as quickly as for people.
const raced = true
