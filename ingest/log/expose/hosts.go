package expose

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"os"
	"slices"
	"strings"
)

// Hosts serves only who asks for this machine by an address, as localhost, by its
// own name, or by one of names: a page of another site that makes its own name
// lead here (DNS rebinding) would otherwise be read as if it were ours. Names
// are compared without case, port and a closing dot. Others get 421 and are told
// what to do.
func Hosts(next http.Handler, names ...string) http.Handler {
	known := []string{"localhost"}
	if own, err := os.Hostname(); err == nil {
		own = strings.ToLower(own)
		known = append(known, own, own+".local")
	}
	for _, n := range names {
		known = append(known, strings.ToLower(n))
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := strings.ToLower(strings.TrimSuffix(hostOnly(r.Host), "."))
		if _, err := netip.ParseAddr(host); err != nil && !slices.Contains(known, host) {
			http.Error(w, fmt.Sprintf("%q is no name of this machine: use its address, or add the name to console.hosts of studio.yaml", host),
				http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func hostOnly(hostport string) string {
	if host, _, err := net.SplitHostPort(hostport); err == nil {
		return host
	}
	return strings.Trim(hostport, "[]")
}
