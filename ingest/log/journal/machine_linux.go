package journal

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// machineFacts are the system's id, which a copied disk takes along, and
// something of the hardware, which it does not: the board's id where this user
// may read it, else the lowest address burnt into a built-in network card.
func machineFacts() []string { return machineFactsUnder("/") }

func machineFactsUnder(root string) []string {
	read := func(path string) string {
		b, _ := os.ReadFile(filepath.Join(root, path))
		return strings.TrimSpace(string(b))
	}
	var facts []string
	for _, path := range []string{"etc/machine-id", "var/lib/dbus/machine-id"} {
		if id := read(path); id != "" {
			facts = append(facts, "system", id)
			break
		}
	}
	if id := read("sys/class/dmi/id/product_uuid"); id != "" {
		return append(facts, "board", id)
	}
	var cards []string
	devices, _ := filepath.Glob(filepath.Join(root, "sys/class/net/*/device"))
	for _, device := range devices {
		target, err := filepath.EvalSymlinks(device)
		if err != nil || strings.Contains(target, "usb") { // a dongle comes and goes
			continue
		}
		card := "sys/class/net/" + filepath.Base(filepath.Dir(device))
		if address := read(card + "/address"); address != "" && read(card+"/addr_assign_type") == "0" {
			cards = append(cards, address)
		}
	}
	if len(cards) > 0 {
		facts = append(facts, "card", slices.Min(cards))
	}
	return facts
}
