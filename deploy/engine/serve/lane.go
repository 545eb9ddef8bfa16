package serve

import (
	"fmt"
	"net/http"
	"runtime"
	"slices"
	"strings"

	"fairlead/deploy/engine"
)

// lane is how users of one purpose go through the engine: so many at once, and each statement so far.
type lane struct {
	slots chan struct{}
	// limits are set before the user's own settings, which may not raise them.
	limits []setting
	// body bounds a request's body, in bytes after unpacking.
	body int64
	// readonly is ClickHouse's: 1 allows no change and no setting.
	readonly bool
	reach    reach
	judged   bool
}

// maxSize bounds an INSERT of the pipeline. A packed body could be a thousand times as long as what was sent.
const maxSize = 2 << 30

// lanes gives each purpose its places. An analyst's statements have an eighth of the sessions, and places of
// their own: however many of them sleep or work, the pages find theirs.
func lanes(size int, memory uint64) map[engine.Purpose]*lane {
	part := func(n uint64) string { return fmt.Sprint(memory / 10 * n) }
	pages := []setting{}
	analyst := []setting{
		{"max_execution_time", "60"}, {"timeout_before_checking_execution_speed", "0"}, {"max_result_bytes", maxWhole},
		{"max_threads", fmt.Sprint(max(1, runtime.NumCPU()/2))}, {"max_temporary_columns", "2000"},
		{"allow_introspection_functions", "0"}, {"allow_ddl", "0"}, {"max_query_size", "262144"},
		{"function_sleep_max_microseconds_per_block", "3000000"},
	}
	if memory > 0 {
		pages = append(pages, setting{"max_memory_usage", part(6)})
		analyst = append(analyst, setting{"max_memory_usage", part(2)})
	}
	return map[engine.Purpose]*lane{
		engine.Pipeline: {slots: make(chan struct{}, size), body: maxSize},
		engine.Pages: {slots: make(chan struct{}, max(2, size/2)), body: 64 << 20, judged: true,
			limits: pages, reach: reach{answers: true}},
		engine.Analyst: {slots: make(chan struct{}, max(2, size/8)), body: 1 << 20, judged: true,
			limits: analyst, readonly: true},
	}
}

// byGET is the lane of a user who asks by GET: reading only, whoever it is.
func (l *lane) byGET() *lane {
	got := *l
	got.readonly = true
	if !l.judged {
		got.judged, got.reach = true, reach{everywhere: true}
	}
	got.reach.answers = false
	return &got
}

// harmless are settings that an analyst may send: how output looks and how work is cut.
var harmless = []string{"max_block_size", "join_algorithm", "date_time_output_format", "join_use_nulls", "decimal_check_overflow",
	"optimize_read_in_order", "final", "max_result_rows", "result_overflow_mode", "extremes"}

// own are a request's settings with the lane's limits: for who is read-only, only the harmless ones.
func (l *lane) own(asked []setting) ([]setting, error) {
	if !l.readonly || !l.judged || l.reach.everywhere {
		return append(slices.Clone(asked), l.limits...), nil
	}
	out := []setting{}
	for _, s := range asked {
		plain := slices.Contains(harmless, s.name) || strings.HasPrefix(s.name, "output_format_")
		if !plain && !slices.ContainsFunc(l.limits, func(x setting) bool { return x.name == s.name && x.value == s.value }) {
			return nil, forbidden("setting %s is not for this user.", s.name)
		}
		if plain {
			out = append(out, s)
		}
	}
	return append(out, l.limits...), nil
}

// laneOf is how a request goes.
func (p *Pool) laneOf(u engine.User, r *http.Request) *lane {
	l := p.lanes[u.Purpose]
	if r.Method == http.MethodGet {
		return l.byGET()
	}
	return l
}
