package client

import (
	"fmt"
	"time"
)

// ParseMoment reads when something took effect, in ns of Unix time: a time, or how
// long before now. Nothing is 0, which stands for when the console hears of it.
func ParseMoment(at string, now time.Time) (int64, error) {
	if at == "" {
		return 0, nil
	}
	if ago, err := time.ParseDuration(at); err == nil {
		return now.Add(-ago.Abs()).UnixNano(), nil
	}
	t, err := time.Parse(time.RFC3339Nano, at)
	if err != nil {
		return 0, fmt.Errorf("%q: write a time such as 2026-05-04T10:31:00Z, or how long ago, such as 90s", at)
	}
	return t.UnixNano(), nil
}
