package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// What CI does about known vulnerabilities, shown on a program of three lines
// and databases of the form that go.dev/security/vuln/database#api describes:
// one that is found fails, none passes, and no database fails nobody.
func TestVulnerabilityFails(t *testing.T) {
	if os.Getenv("BAYHOLD_LONG") != "1" {
		t.Skip("builds a tool: BAYHOLD_LONG=1")
	}
	script, err := filepath.Abs("../../.ci/vuln")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	put := func(name, text string) {
		t.Helper()
		name = filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("go.mod", "module example\n\ngo 1.26.0\n")
	put("main.go", "package main\n\nimport \"strings\"\n\nfunc main() { println(strings.ToUpper(\"x\")) }\n")
	const modified = `"modified":"2026-01-01T00:00:00Z"`
	for db, vulns := range map[string]string{"none": "", "one": `{"id":"GO-2026-0001",` + modified + `}`} {
		put(db+"/index/db.json", `{`+modified+`}`)
		put(db+"/index/vulns.json", `[`+vulns+`]`)
		modules := ""
		if vulns != "" {
			modules = `{"path":"stdlib","vulns":[` + vulns + `]}`
		}
		put(db+"/index/modules.json", `[`+modules+`]`)
	}
	// A report as OSV (ossf.github.io/osv-schema) writes it, of a function that
	// the program calls.
	put("one/ID/GO-2026-0001.json", `{"schema_version":"1.3.1","id":"GO-2026-0001",`+modified+`,"published":"2026-01-01T00:00:00Z",
		"summary":"An example","details":"An example.","affected":[{"package":{"name":"stdlib","ecosystem":"Go"},
		"ranges":[{"type":"SEMVER","events":[{"introduced":"0"}]}],
		"ecosystem_specific":{"imports":[{"path":"strings","symbols":["ToUpper"]}]}}],
		"references":[],"database_specific":{"url":"https://pkg.go.dev/vuln/GO-2026-0001","review_status":"REVIEWED"}}`)
	for _, c := range []struct {
		db   string
		pass bool
		says string
	}{
		{"file://" + dir + "/one", false, "a known vulnerability is reached"},
		{"file://" + dir + "/none", true, "no known vulnerability is reached"},
		{"http://127.0.0.1:1", true, "not checked: no database"}, // port 1 answers nobody
	} {
		cmd := exec.Command(script)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "VULNDB="+c.db)
		out, err := cmd.CombinedOutput()
		if strings.Contains(string(out), "not checked: no golang.org") {
			t.Skipf("the tool cannot be had: %s", out)
		}
		if (err == nil) != c.pass || !strings.Contains(string(out), c.says) {
			t.Errorf("%s: %v, want it to say %q:\n%s", c.db, err, c.says, out)
		}
	}
	put("main.go", "package main\n\nfunc main() { nothing() }\n")
	cmd := exec.Command(script)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "VULNDB=file://"+dir+"/none")
	if out, err := cmd.CombinedOutput(); err == nil {
		t.Errorf("a program that cannot be read passes:\n%s", out)
	}
}
