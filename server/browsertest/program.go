package browsertest

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
)

// Program is the program itself, built once for all tests of a package, which
// takes it away by [Clear] in its TestMain.
func Program(t testing.TB) string {
	t.Helper()
	path, err := built()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// Clear takes the program away, if one was built.
func Clear() {
	if builtIn != "" {
		os.RemoveAll(builtIn)
	}
}

var builtIn string

var built = sync.OnceValues(func() (path string, err error) {
	if builtIn, err = os.MkdirTemp("", "bayhold-program-"); err != nil {
		return "", err
	}
	path = filepath.Join(builtIn, "bayhold")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", path, "bayhold/cmd/bayhold").CombinedOutput(); err != nil {
		return "", fmt.Errorf("building the program: %v\n%s", err, out)
	}
	return path, nil
})
