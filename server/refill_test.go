package server

import (
	"bytes"
	"encoding/binary"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// saveStore copies the store of a running server.
func saveStore(t *testing.T, s *shopAt) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), StoreFile)
	if err := s.store.db.View(func(tx *bolt.Tx) error { return tx.CopyFile(path, 0o600) }); err != nil {
		t.Fatal(err)
	}
	return path
}

// startSaved serves a copy in a folder of its own, as a restore leaves it: in
// the next epoch, with a new writer.
func startSaved(t *testing.T, path string) *shopAt {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, StoreFile), b, 0o600); err != nil {
		t.Fatal(err)
	}
	db, err := bolt.Open(filepath.Join(dir, StoreFile), 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error {
		meta := tx.Bucket(bucketMeta)
		if err := putID(meta, keyWriter, logbook.ID(uuid.Must(uuid.NewV7()))); err != nil {
			return err
		}
		return meta.Put(keyEpoch, be64(binary.BigEndian.Uint64(meta.Get(keyEpoch))+1))
	})
	if err == nil {
		err = db.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return startShop(t, dir)
}

// returns connects a phone until it has all that the shop has: once to bring
// back what the shop lost, and once more to take it anew.
func (p *phone) returns(s *shopAt) {
	p.t.Helper()
	p.connect(s)
	p.until("caught up, or asked to come again", func() bool { return p.end.Caught() || p.closed != "" })
	if p.closed != "" {
		p.hangUp()
		p.connect(s)
	}
	p.untilCaught()
	p.untilKept()
}

// lost is what a shop had and a copy of its store lacks: by entry, with the
// receipt.
func lost(t *testing.T, before, after *shopAt) map[string]logbook.Receipt {
	t.Helper()
	out := map[string]logbook.Receipt{}
	for log, head := range before.store.Heads() {
		lines, err := before.store.After(log, after.store.Heads()[log].Order, int(head.Order), 1<<30)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			if out[string(l.Entry)], err = logbook.DecodeReceipt(l.Receipt); err != nil {
				t.Fatal(err)
			}
		}
	}
	return out
}

// The shop's disk dies and a backup comes back. What was written since returns
// with the phones that carry it, whoever wrote it and in whatever order they
// come; a phone that is gone too is missed by nobody.
func TestRefillAfterRestore(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	a, b, gone := newPhone(t, "A"), newPhone(t, "B"), newPhone(t, "gone")
	phones := []*phone{a, b, gone}
	for _, p := range phones {
		p.connect(s)
		p.untilCaught()
	}
	a.write(jobV5, crew, checklist.Note{Text: "before the backup"})
	a.untilKept()
	saved := saveStore(t, s)

	job2 := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("since the backup")}
	gone.write(job2, crew, checklist.JobOpen{Label: "V6", Route: "van", Place: checklist.ID(bay4),
		Panels: []checklist.Panel{{ID: "left", Name: "left side", Zone: "upper"}}})
	var wash session.Name
	for range 40 {
		for _, p := range phones {
			wash = p.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
		}
	}
	gone.untilKept()
	if err := s.writer.do(t.Context(), func(p *pen) error { return p.write(s.store.shop, bay("Bay 5")) }); err != nil {
		t.Fatal(err)
	}
	for _, p := range phones {
		p.until("everything is on every phone, and proven", func() bool {
			for log, head := range s.store.Heads() {
				if p.cursors[log].Hash != head.Chain {
					return false
				}
			}
			return len(p.outbox) == 0
		})
		p.hangUp()
	}
	a.entry(jobV5, crew, nil, wash.Ref) // offline: takes back a line of the phone that is gone

	for _, order := range [][]*phone{{a, b}, {b, a}} {
		t.Run("first "+order[0].device.String()[:4], func(t *testing.T) {
			restored := startSaved(t, saved)
			lines := lost(t, s, restored)
			if len(lines) != 122 { // 3 times 40 ticks, a job and a bay of the server's own making
				t.Fatalf("%d lines are lost", len(lines))
			}
			if err := restored.writer.do(t.Context(), func(p *pen) error {
				return p.write(restored.store.shop, bay("Bay 6"))
			}); err != nil {
				t.Fatal(err)
			}
			for _, p := range order {
				p = p.copy(t)
				p.returns(restored)
				defer p.hangUp()
				for _, log := range []logbook.Log{jobV5, job2, s.store.shop} {
					if !bytes.Equal(p.copyOf(log), restored.copyOf(t, log)) {
						t.Errorf("another copy of %c", log.Class)
					}
				}
				if len(p.shelves) > 0 || len(p.aside) > 0 {
					t.Errorf("%d shelves left, set aside: %+v", len(p.shelves), p.aside)
				}
			}
			back := 0
			for log, head := range restored.store.Heads() {
				all, err := restored.store.After(log, 0, int(head.Order), 1<<30)
				if err != nil {
					t.Fatal(err)
				}
				for _, l := range all {
					old, was := lines[string(l.Entry)]
					c, err := logbook.DecodeReceipt(l.Receipt)
					if err != nil {
						t.Fatal(err)
					}
					if was {
						back++
						if want := old.Back(2, l.Order, c.Arrived); c != want {
							t.Fatalf("receipt %+v, want %+v", c, want)
						}
					} else if c.Was != (logbook.Was{}) {
						t.Errorf("a line that was never lost came back: %+v", c)
					}
				}
			}
			if back != len(lines) {
				t.Errorf("%d of %d lines are back", back, len(lines))
			}
			v, err := restored.store.Find(jobV5, logbook.Ref{Writer: a.writer, Seq: a.seqs[jobV5]})
			if err != nil || v.What != judge.Kept || v.Receipt.Was != (logbook.Was{}) {
				t.Errorf("the line that takes one back: %+v %v", v, err)
			}
			fresh := newPhone(t, "fresh")
			fresh.connect(restored)
			fresh.untilCaught()
			if !bytes.Equal(fresh.copyOf(jobV5), restored.copyOf(t, jobV5)) {
				t.Error("a new phone has another copy")
			}
			fresh.hangUp()
		})
	}
}

func bay(name string) checklist.Body {
	return checklist.PlaceAdd{Place: checklist.ID(logbook.Named(name)), Name: name, Sort: "bay"}
}

// copy is the phone's store on a page of its own.
func (p *phone) copy(t testing.TB) *phone {
	c := newPhone(t, "")
	c.device, c.writer, c.clk, c.began = p.device, p.writer, p.clk, p.began
	c.rows, c.seqs, c.cursors, c.heads = maps.Clone(p.rows), maps.Clone(p.seqs), maps.Clone(p.cursors), maps.Clone(p.heads)
	c.outbox = slices.Clone(p.outbox)
	return c
}

// A phone that changed a line of somebody else's since the backup, in its rows
// or with the chain made anew over it, has it set aside with a sentence.
func TestForgedRefill(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	saved := saveStore(t, s)
	p, honest := newPhone(t, "P"), newPhone(t, "honest")
	honest.connect(s)
	honest.untilCaught()
	name := honest.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	honest.write(jobV5, crew, checklist.Tick{Stage: "dry", Answer: "done"})
	honest.until("the job and two ticks have their places", func() bool { return honest.cursors[jobV5].Order == 3 })
	p.connect(s)
	p.untilCaught()
	p.hangUp()
	honest.hangUp()
	for _, anew := range []bool{false, true} {
		restored := startSaved(t, saved)
		forger := p.copy(t)
		r := forger.rows[name]
		e, err := logbook.Decode(r.entry)
		if err != nil {
			t.Fatal(err)
		}
		e.By = lead
		r.entry = e.Append(nil)
		forger.rows[name] = r
		m := forger.heads[jobV5]
		if anew {
			m.Cursor.Hash = logbook.Genesis(jobV5)
			for _, l := range forger.lines(session.Run{Moved: m}, 1) {
				m.Cursor.Hash = logbook.Next(m.Cursor.Hash, l.Receipt, l.Entry)
			}
			forger.heads[jobV5] = m
		} else {
			forger.altered = p.lines(session.Run{Moved: m}, 1)
		}
		forger.returns(restored)
		forger.hangUp()
		for _, l := range must(restored.store.After(jobV5, 0, 100, 1<<20)) {
			if bytes.Equal(l.Entry, r.entry) {
				t.Errorf("anew %v: the forged line is in the job", anew)
			}
		}
		aside := must(restored.store.Aside())
		if len(aside) != 2 || aside[0].Code != judge.Proof || !strings.Contains(aside[0].Reason, "signed") ||
			!slices.ContainsFunc(aside, func(a SetAside) bool { return bytes.Equal(a.Bytes, r.entry) }) {
			t.Errorf("anew %v: set aside: %+v", anew, aside)
		}
		// The honest copy is taken all the same.
		good := honest.copy(t)
		good.returns(restored)
		good.hangUp()
		v, err := restored.store.Find(jobV5, name.Ref)
		if err != nil || v.What != judge.Kept || v.Receipt.Was.Epoch != 1 {
			t.Errorf("anew %v: the honest line: %+v %v", anew, v, err)
		}
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
