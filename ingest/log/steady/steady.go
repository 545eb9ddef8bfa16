// Package steady gives time that does not step. A machine's wall clock is set by
// people and programs, forwards and back; what happened before what is told by
// how long the machine has been up, sleep included, within one boot.
package steady

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"time"
)

// Clock runs without a step within one boot of a machine.
type Clock struct {
	// Boot names the boot: 16 hex digits, another one after each start of the
	// machine. Empty where the system does not say: the clock is then good for
	// this process alone.
	Boot string
	// Since is the time since the machine was started, or, where Boot is empty,
	// since some moment of this process. Always more than 0.
	Since func() time.Duration
}

// System is the machine's clock.
func System() Clock {
	if facts := bootFacts(); len(facts) > 0 {
		sum := sha256.Sum256([]byte(strings.Join(facts, "\n")))
		return Clock{Boot: hex.EncodeToString(sum[:8]), Since: sinceBoot}
	}
	begun := time.Now()
	return Clock{Since: func() time.Duration { return time.Since(begun) + 1 }}
}
