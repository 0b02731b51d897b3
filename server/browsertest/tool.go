package browsertest

import (
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// packages are the tools that tests ask beside a browser, public programs that
// stand for a network or judge what Bayhold made, with the package of Debian and
// Ubuntu that brings each. .ci/tools installs them by the same table.
var packages = map[string]string{
	"openssl":   "openssl",
	"ip":        "iproute2",
	"certutil":  "libnss3-tools",
	"qpdf":      "qpdf",
	"pdftotext": "poppler-utils",
	"pdftoppm":  "poppler-utils",
}

// Tools makes sure of tools. Without one the test fails and names the line that
// installs it; only BAYHOLD_WITHOUT, a list of their names, leaves it out.
func Tools(t testing.TB, names ...string) {
	t.Helper()
	for _, name := range names {
		if _, err := exec.LookPath(name); err == nil {
			continue
		}
		if slices.Contains(strings.Fields(os.Getenv("BAYHOLD_WITHOUT")), name) {
			t.Skip("BAYHOLD_WITHOUT=" + name + ": left out")
		}
		t.Fatal("no " + name + " on this machine: apt-get install -y --no-install-recommends " + packages[name] +
			" (or set BAYHOLD_WITHOUT=" + name + " to leave out what needs it)")
	}
}
