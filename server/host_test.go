package server

import "testing"

func TestOwnName(t *testing.T) {
	for _, c := range []struct {
		host string
		own  bool
	}{
		{"localhost", true}, {"localhost:8080", true}, {"LOCALHOST:8080", true}, {"shop.localhost:80", true}, // RFC 6761 section 6.3
		{"127.0.0.1:8080", true}, {"[::1]:8080", true}, {"192.168.4.20", true}, {"10.1.2.3:8443", true}, {"[fd12::1]", true},
		{"tarnbrook.local:8443", true}, {"tarnbrook.local.", true}, {"Tarnbrook.Local", true},
		{"evil.example", false}, {"evil.example:8443", false}, {"tarnbrook.local.evil.example", false}, {"xtarnbrook.local", false},
		{"localhost.evil.example", false}, {"203.0.113.7", false}, {"127.0.0.1.evil.example", false}, {"", false}, {":8080", false},
		{"192.168.4.20@evil.example", false},
	} {
		if got := ownName(c.host, "tarnbrook.local"); got != c.own {
			t.Errorf("%q: %v", c.host, got)
		}
	}
	if ownName("", "") || ownName("tarnbrook.local", "") {
		t.Error("a shop without a name answers to one")
	}
}
