package journal

import (
	"os/exec"
	"regexp"
)

var platformUUID = regexp.MustCompile(`"IOPlatformUUID" = "([^"]+)"`)

// machineFacts is the id of the board.
func machineFacts() []string {
	out, err := exec.Command("/usr/sbin/ioreg", "-rd1", "-c", "IOPlatformExpertDevice").Output()
	if err != nil {
		return nil
	}
	m := platformUUID.FindSubmatch(out)
	if m == nil {
		return nil
	}
	return []string{"board", string(m[1])}
}
