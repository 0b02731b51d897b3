//go:build linux

package server

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"bayhold/server/browsertest"
	"bayhold/server/powercut"
)

// The power is cut in the middle of a backup onto a folder that holds one
// already: before its first fsync, before its second, and so on to its last.
// However the disk was left, the old backup is whole, or the new one is.
func TestPowerCutInABackup(t *testing.T) {
	ways := 2
	if os.Getenv("BAYHOLD_LONG") == "1" {
		ways = 20
	}
	bin, shop := browsertest.Program(t), startShop(t, t.TempDir())
	crewed(t, shop)
	sendPhoto(t, shop.http.URL, picture(320, 240))
	backup := func(to string) error { return exec.Command(bin, "backup", "--data", shop.dir, "--to", to).Run() }
	first := filepath.Join(t.TempDir(), "first")
	if err := backup(first); err != nil {
		t.Fatal(err)
	}
	old := exported(t, first)
	shop.submit(t, note("a", 1, "since then"))
	sendPhoto(t, shop.http.URL, picture(240, 320))
	shop.stop(t)
	fresh := exported(t, shop.dir)
	seen := map[string]int{}
	for cut := 1; ; cut++ {
		disk, err := powercut.Mount(t.TempDir())
		if err != nil {
			t.Skip(err)
		}
		t.Cleanup(func() { disk.Cut() })
		to := filepath.Join(disk.Dir, "backup")
		if err := os.CopyFS(to, os.DirFS(first)); err != nil {
			t.Fatal(err)
		}
		if err := disk.Settle(); err != nil {
			t.Fatal(err)
		}
		disk.CutBefore(cut)
		err = backup(to)
		if disk.Cut() != nil {
			t.Fatal("the disk is still in use")
		}
		for seed := range ways {
			left := filepath.Join(t.TempDir(), "left")
			if err := disk.Left(left, uint64(cut*1000+seed)); err != nil {
				t.Fatal(err)
			}
			dir := filepath.Join(left, "backup")
			if r := report(t, dir); len(r.Faults) > 0 || r.Awaited > 0 {
				t.Errorf("cut before fsync %d, way %d: %+v", cut, seed, r)
			}
			switch exported(t, dir) {
			case old:
				seen["old"]++
			case fresh:
				seen["new"]++
			default:
				t.Errorf("cut before fsync %d, way %d: neither the old backup nor the new one", cut, seed)
			}
		}
		if err == nil { // it came to its end before the cut
			break
		}
	}
	if seen["old"] == 0 || seen["new"] < ways {
		t.Errorf("%v: this test shows nothing", seen)
	}
	t.Logf("left: %v", seen)
}
