//go:build linux

package powercut

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

func mount(t *testing.T) *Disk {
	t.Helper()
	d, err := Mount(t.TempDir())
	if err != nil {
		t.Skip(err)
	}
	t.Cleanup(func() { d.Cut() })
	return d
}

// What a cut leaves of a few writes, for a hundred seeds each: what must be
// there always is, and what may be lost is lost for some seeds and not for
// others.
func TestCut(t *testing.T) {
	old, new := bytes.Repeat([]byte("old "), page), bytes.Repeat([]byte("new "), page) // four pages
	write := func(t *testing.T, name string, b []byte) {
		t.Helper()
		f, err := os.OpenFile(name, os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if _, err := f.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	sync := func(t *testing.T, name string) {
		t.Helper()
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := f.Sync(); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		what string
		do   func(t *testing.T, dir string)
		// what is left is described in a word; these words, all of them, may be
		may []string
	}{
		{"synced file and folder", func(t *testing.T, dir string) {
			write(t, dir+"/a", old)
			sync(t, dir+"/a")
			sync(t, dir)
		}, []string{"old"}},
		{"synced file, folder not", func(t *testing.T, dir string) {
			write(t, dir+"/a", old)
			sync(t, dir+"/a")
		}, []string{"old", "none"}},
		{"overwritten and not synced", func(t *testing.T, dir string) {
			write(t, dir+"/a", old)
			sync(t, dir+"/a")
			sync(t, dir)
			write(t, dir+"/a", new[:page])
		}, []string{"old", "mixed"}},
		{"nothing synced but the folder", func(t *testing.T, dir string) {
			write(t, dir+"/a", old[:page])
			sync(t, dir)
		}, []string{"empty", "old", "zeros"}},
		{"renamed over, folder not synced", func(t *testing.T, dir string) {
			write(t, dir+"/a", old)
			write(t, dir+"/b", new)
			sync(t, dir+"/a")
			sync(t, dir+"/b")
			sync(t, dir)
			if err := os.Rename(dir+"/b", dir+"/a"); err != nil {
				t.Fatal(err)
			}
		}, []string{"old", "new"}},
		{"written beside and renamed over, folder not synced", func(t *testing.T, dir string) {
			write(t, dir+"/a", old)
			sync(t, dir+"/a")
			sync(t, dir)
			write(t, dir+"/b", new)
			sync(t, dir+"/b")
			if err := os.Rename(dir+"/b", dir+"/a"); err != nil {
				t.Fatal(err)
			}
		}, []string{"old", "new"}},
		{"deleted, folder synced", func(t *testing.T, dir string) {
			write(t, dir+"/a", old)
			sync(t, dir+"/a")
			sync(t, dir)
			if err := os.Remove(dir + "/a"); err != nil {
				t.Fatal(err)
			}
			sync(t, dir)
		}, []string{"none"}},
	} {
		t.Run(c.what, func(t *testing.T) {
			d := mount(t)
			c.do(t, d.Dir)
			seen := map[string]int{}
			for seed := range uint64(100) {
				to := filepath.Join(t.TempDir(), "left")
				if err := d.Left(to, seed); err != nil {
					t.Fatal(err)
				}
				seen[content(to)]++
			}
			for _, word := range c.may {
				if seen[word] == 0 {
					t.Errorf("never left %q: %v", word, seen)
				}
				delete(seen, word)
			}
			if len(seen) > 0 {
				t.Errorf("left what it may not: %v", seen)
			}
		})
	}
}

// content says in a word what the file a holds.
func content(dir string) string {
	b, err := os.ReadFile(dir + "/a")
	hasOld, hasNew := bytes.Contains(b, []byte("old")), bytes.Contains(b, []byte("new"))
	switch {
	case err != nil:
		return "none"
	case hasOld && hasNew:
		return "mixed"
	case hasOld:
		return "old"
	case hasNew:
		return "new"
	case len(b) > 0:
		return "zeros"
	}
	return "empty"
}

// A disk whose power goes by itself fails the fsync that it was told to, and
// takes nothing behind it.
func TestCutByItself(t *testing.T) {
	d := mount(t)
	a := filepath.Join(d.Dir, "a")
	f, err := os.Create(a)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	d.CutBefore(2)
	if err := f.Sync(); err != nil {
		t.Errorf("the first fsync: %v", err)
	}
	if err := f.Sync(); err == nil {
		t.Error("the second fsync came to pass")
	}
	if os.Rename(a, a+"2") == nil || os.Remove(a) == nil {
		t.Error("something came to pass behind it")
	}
	if _, err := f.Write([]byte("x")); err == nil {
		t.Error("a write came to pass behind it")
	}
	if d.Syncs != 1 {
		t.Errorf("%d fsyncs", d.Syncs)
	}
}
