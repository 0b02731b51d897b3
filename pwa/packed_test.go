package pwa

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"testing"
	"testing/fstest"
)

// A packed file is served in place of the source that it was made from, and of
// no other.
func TestServesPackedWhatIsPacked(t *testing.T) {
	app := fstest.MapFS{}
	packed := fstest.MapFS{}
	for name, content := range map[string]string{"same.js": "as written", "edited.js": "edited since", "new.js": "never packed", "icon.svg": "picture"} {
		app[name] = &fstest.MapFile{Data: []byte(content)}
	}
	sums := ""
	for name, source := range map[string]string{"same.js": "as written", "edited.js": "as it was", "gone.js": "gone since"} {
		packed[name] = &fstest.MapFile{Data: []byte("packed")}
		sums += fmt.Sprintf("%x  %s\n", sha256.Sum256([]byte(source)), name)
	}
	packed["SHA256SUMS"] = &fstest.MapFile{Data: []byte(sums)}
	f := newFiles(app, packed)
	for name, want := range map[string]string{"same.js": "packed", "edited.js": "edited since", "new.js": "never packed", "icon.svg": "picture"} {
		if got, err := fs.ReadFile(f, name); err != nil || string(got) != want {
			t.Errorf("%s is %q, %v; want %q", name, got, err, want)
		}
	}
	if _, err := fs.ReadFile(f, "gone.js"); err == nil {
		t.Error("a file that the app has no more is still served")
	}
	if names := list(f); len(names) != 4 {
		t.Errorf("the list is %v", names)
	}
	if got, err := fs.ReadFile(newFiles(app, fstest.MapFS{}), "same.js"); err != nil || string(got) != "as written" {
		t.Errorf("with nothing packed same.js is %q, %v", got, err)
	}
}
