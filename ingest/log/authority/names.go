package authority

import (
	"fmt"
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"
)

// near are the names and networks of machines that only a local network reaches.
var (
	nearNames    = []string{"localhost", "local", "lan", "internal", "home.arpa"}
	nearNetworks = []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "169.254.0.0/16", "127.0.0.0/8",
		"::1/128", "fc00::/7", "fe80::/10"}
)

// permitted is what an authority may sign: names and addresses of local networks,
// this machine's own name, and those given.
func permitted(names []string) (dns []string, nets []*net.IPNet) {
	dns = slices.Clone(nearNames)
	networks := slices.Clone(nearNetworks)
	for _, n := range append(ownNames(), names...) {
		if ip, err := netip.ParseAddr(n); err == nil {
			networks = append(networks, netip.PrefixFrom(ip.Unmap(), ip.Unmap().BitLen()).String())
		} else if n = plain(n); n != "" && !slices.ContainsFunc(dns, func(d string) bool { return within(n, d) }) {
			dns = append(dns, n)
		}
	}
	for _, n := range networks {
		if _, network, err := net.ParseCIDR(n); err == nil {
			nets = append(nets, network)
		}
	}
	return dns, nets
}

func plain(name string) string { return strings.ToLower(strings.Trim(name, ". ")) }

func within(name, domain string) bool { return name == domain || strings.HasSuffix(name, "."+domain) }

// ownNames are this machine's.
func ownNames() []string {
	name, err := os.Hostname()
	if err != nil || plain(name) == "" || strings.ContainsAny(name, " _/") {
		return nil
	}
	name = plain(name)
	first, _, _ := strings.Cut(name, ".")
	return []string{name, first + ".local"}
}

// may says whether the authority may sign a name or address.
func (a *Authority) may(name string) bool {
	if ip, err := netip.ParseAddr(name); err == nil {
		return slices.ContainsFunc(a.cert.PermittedIPRanges, func(n *net.IPNet) bool { return n.Contains(ip.Unmap().WithZone("").AsSlice()) })
	}
	return slices.ContainsFunc(a.cert.PermittedDNSDomains, func(d string) bool { return within(plain(name), d) })
}

// Check says which of the names that a listener is to go by can't be signed.
func (a *Authority) Check(names []string) error {
	for _, n := range names {
		if !a.may(n) {
			return fmt.Errorf("the studio's authority was made before %q was a name of the hub, and may not sign it: remove %s and start "+
				"anew; bays and tablets then have to be told of the new one", n, a.Dir)
		}
	}
	return nil
}

// here are the names and addresses that this machine is reached by now, as far
// as the authority may sign them.
func (a *Authority) here() []string {
	out := append([]string{"localhost", "127.0.0.1", "::1"}, ownNames()...)
	addresses, _ := net.InterfaceAddrs()
	for _, at := range addresses {
		if p, err := netip.ParsePrefix(at.String()); err == nil && !slices.Contains(out, p.Addr().Unmap().String()) {
			out = append(out, p.Addr().Unmap().WithZone("").String())
		}
	}
	return slices.DeleteFunc(out, func(n string) bool { return !a.may(n) })
}
