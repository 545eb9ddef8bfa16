package journal

import (
	"net"
	"slices"

	"golang.org/x/sys/windows/registry"
)

// machineFacts are the id that Windows gave itself, which a copied disk takes
// along, and the lowest address of a network card, which it does not. Addresses
// that a person or program made up are left out.
func machineFacts() []string {
	var facts []string
	key, err := registry.OpenKey(registry.LOCAL_MACHINE, `SOFTWARE\Microsoft\Cryptography`, registry.QUERY_VALUE|registry.WOW64_64KEY)
	if err == nil {
		if id, _, err := key.GetStringValue("MachineGuid"); err == nil {
			facts = append(facts, "system", id)
		}
		key.Close()
	}
	var cards []string
	interfaces, _ := net.Interfaces()
	for _, i := range interfaces {
		const madeUp = 2 // the bit of a locally administered address
		if len(i.HardwareAddr) == 6 && i.HardwareAddr[0]&madeUp == 0 {
			cards = append(cards, i.HardwareAddr.String())
		}
	}
	if len(cards) > 0 {
		facts = append(facts, "card", slices.Min(cards))
	}
	return facts
}
