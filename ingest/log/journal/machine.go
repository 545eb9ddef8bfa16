package journal

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"strings"
)

// MachineID names this computer, the same at each start and, as far as the
// system lets one tell, different on a computer that was set up from a copy of
// this one's disk. It is a hash: it says nothing about the machine itself.
// Where the system tells nothing, it rests on the host's name.
func MachineID() string {
	facts := machineFacts()
	if len(facts) == 0 {
		name, _ := os.Hostname()
		facts = []string{"host", name}
	}
	return hashMachine(strings.Join(facts, "\n"))
}

func hashMachine(s string) string {
	sum := sha256.Sum256([]byte("journal machine\n" + s))
	return hex.EncodeToString(sum[:16])
}
