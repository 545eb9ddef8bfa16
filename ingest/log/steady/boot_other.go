//go:build !linux && !darwin && !windows

package steady

import "time"

func bootFacts() []string { return nil }

func sinceBoot() time.Duration { return 0 }
