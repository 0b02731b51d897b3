package browsertest

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A tool that is missing fails with the line that installs it; only the variable
// leaves out what needs it.
func TestToolMissing(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	for _, c := range []struct {
		without string
		skipped bool
	}{{"", false}, {"certutil", false}, {"certutil ip", true}} {
		t.Setenv("BAYHOLD_WITHOUT", c.without)
		o := &outcome{}
		o.run(func() { Tools(o, "ip") })
		if o.skipped != c.skipped || !c.skipped && !strings.Contains(o.fatal, "apt-get install -y --no-install-recommends iproute2") {
			t.Errorf("without %q: fatal %q, skipped %v", c.without, o.fatal, o.skipped)
		}
	}
}

// .ci/tools installs what is missing and no more, and where that fails it says
// so, names what is missing, and fails nobody.
func TestToolsAreInstalled(t *testing.T) {
	script, err := filepath.Abs("../../.ci/tools")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(script)
	if err != nil {
		t.Fatal(err)
	}
	for name, pkg := range packages {
		if !strings.Contains(string(text), name+" "+pkg) {
			t.Errorf(".ci/tools does not know that %s is in %s", name, pkg)
		}
	}
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("no bash on this system")
	}
	for _, c := range []struct {
		what, apt, without, asked, left string
	}{
		{"it can", `for p; do case $p in iproute2) touch "$HERE/ip"; chmod +x "$HERE/ip";; poppler-utils) touch "$HERE/pdftotext" "$HERE/pdftoppm"; chmod +x "$HERE"/pdf*;; esac; done`, "", "iproute2 poppler-utils", ""},
		{"it has no way to a registry", "exit 100", "", "iproute2 poppler-utils", "ip pdftotext pdftoppm"},
		{"something is not to be installed", `touch "$HERE/ip"; chmod +x "$HERE/ip"`, "pdftotext pdftoppm", "iproute2", "pdftotext pdftoppm"},
	} {
		here := t.TempDir()
		for _, name := range []string{"id", "cat", "cut", "tr", "sort", "timeout", "env", "true", "touch", "chmod"} {
			path, err := exec.LookPath(name)
			if err == nil {
				err = os.Symlink(path, filepath.Join(here, name))
			}
			if err != nil {
				t.Skip(err)
			}
		}
		fake := func(name, text string) {
			if err := os.WriteFile(filepath.Join(here, name), []byte("#!"+bash+"\n"+text+"\n"), 0o755); err != nil {
				t.Fatal(err)
			}
		}
		fake("apt-get", `echo "$@" >> "$HERE/asked"`+"\n"+c.apt)
		fake("sudo", `shift; exec "$@"`)
		for _, name := range []string{"openssl", "certutil", "qpdf"} {
			fake(name, "")
		}
		cmd := exec.Command(bash, script)
		cmd.Env = []string{"PATH=" + here, "HERE=" + here, "BAYHOLD_WITHOUT=" + c.without}
		var said strings.Builder
		cmd.Stderr = &said
		out, err := cmd.Output()
		if err != nil || strings.TrimSpace(string(out)) != c.left {
			t.Errorf("%s: left %q, want %q: %v\n%s", c.what, out, c.left, err, said.String())
		}
		if told := strings.Contains(said.String(), "left out"); told != (c.left != "") {
			t.Errorf("%s: it says %q", c.what, said.String())
		}
		if asked, _ := os.ReadFile(filepath.Join(here, "asked")); !strings.HasSuffix(strings.TrimSpace(string(asked)), "--no-install-recommends "+c.asked) {
			t.Errorf("%s: asked for %q", c.what, asked)
		}
	}
}
