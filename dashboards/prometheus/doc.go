// Package prometheus holds what a Prometheus server needs to watch a studio:
// its configuration, recording and alert rules with what to try, and their
// tests. The Go tests run the real promtool and a real Prometheus against the
// real processes' metrics, so that no rule or dashboard asks for a name that
// nothing exposes.
package prometheus
