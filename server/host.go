package server

import (
	"net"
	"net/http"
	"slices"
	"strings"

	"bayhold/server/cert"
)

// atOwnName lets a request through that asks for this shop by a name of its
// own: localhost, a private address, the name that phones are told, or one that
// some still go by. Any other was made to point here by a stranger's name server, whose page would
// then be of the same origin as the shop (DNS rebinding).
func atOwnName(next http.Handler, names ...string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !ownName(r.Host, names...) {
			http.Error(w, "this shop does not answer to that name: open it at the address that the lead shows", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func ownName(hostport string, names ...string) bool {
	host, _, err := net.SplitHostPort(hostport)
	if err != nil {
		host = hostport // the scheme's own port is left out
	}
	host = strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
	if ip := net.ParseIP(host); ip != nil {
		return cert.Private(ip)
	}
	return host == "localhost" || strings.HasSuffix(host, ".localhost") || host != "" && slices.Contains(names, host)
}
