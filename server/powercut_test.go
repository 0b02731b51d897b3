//go:build linux

package server

import (
	"bytes"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/server/browsertest"
	"bayhold/server/powercut"
	"bayhold/sync/logbook"
)

// The power is cut as soon as the last of 520 live lines and a photo were
// acknowledged. However the disk was left, all of them are there, the store is
// whole, and the program starts on it.
func TestPowerCutLosesNothing(t *testing.T) {
	rounds, ways := 1, 4
	if os.Getenv("BAYHOLD_LONG") == "1" {
		rounds, ways = 10, 20
	}
	bin := browsertest.Program(t)
	for round := range rounds {
		disk, err := powercut.Mount(t.TempDir())
		if err != nil {
			t.Skip(err)
		}
		t.Cleanup(func() { disk.Cut() })
		data := filepath.Join(disk.Dir, "shop") // a folder that the program makes itself
		server := startProcess(t, bin, data)
		p := newPhone(t, fmt.Sprint("powercut ", round))
		p.dial(server.url)
		raw := picture(320, 240)
		for i := range 520 {
			p.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done", Note: fmt.Sprint(i)})
			if i == 260 {
				sendPhoto(t, server.url, raw)
			}
			if i%13 == round { // singly and in rounds of some
				p.untilKept()
			}
		}
		p.untilKept()
		server.kill()
		p.hangUp()

		if err := disk.Cut(); err != nil {
			t.Fatal(err)
		}
		t.Logf("round %d: %d fsyncs", round, disk.Syncs)
		for seed := range ways {
			left := filepath.Join(t.TempDir(), "left")
			if err := disk.Left(left, uint64(round*1000+seed)); err != nil {
				t.Fatal(err)
			}
			shop := filepath.Join(left, "shop")
			if got := acknowledged(t, shop, p); got != 520 {
				t.Errorf("round %d, way %d: %d of 520 acknowledged lines survived", round, seed, got)
			}
			if got, err := os.ReadFile(filepath.Join(shop, "photos", name(raw))); err != nil || !bytes.Equal(got, raw) {
				t.Errorf("round %d, way %d: the acknowledged photo: %v", round, seed, err)
			}
			if seed == 0 {
				again := startProcess(t, bin, shop)
				again.kill()
			}
		}
	}
}

// acknowledged counts the lines that the phone was told are kept and that are
// in the store as it has them, and checks the whole store.
func acknowledged(t *testing.T, data string, p *phone) (n int) {
	t.Helper()
	st, err := OpenStore(filepath.Join(data, StoreFile), logbook.ID{}, time.Now)
	if err != nil {
		t.Error(err)
		return 0
	}
	defer st.Close()
	if err := st.Verify(); err != nil {
		t.Error(err)
	}
	for name, r := range p.rows {
		if r.receipt == nil || name.Log != jobV5 {
			continue
		}
		stored, err := st.After(jobV5, r.order-1, 1, 1)
		if err == nil && len(stored) == 1 && bytes.Equal(stored[0].Entry, r.entry) && bytes.Equal(stored[0].Receipt, r.receipt) {
			n++
		}
	}
	return n
}

func sendPhoto(t *testing.T, url string, raw []byte) {
	t.Helper()
	r, err := http.NewRequest("PATCH", url+"/photos/"+name(raw), bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Upload-Offset", "0")
	r.Header.Set("Upload-Length", strconv.Itoa(len(raw)))
	r.Header.Set("Content-Type", "application/offset+octet-stream")
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode/100 != 2 {
		t.Fatalf("the photo: %s", resp.Status)
	}
}
