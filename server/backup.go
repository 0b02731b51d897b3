package server

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"bayhold/sync/logbook"
)

// A backup is a folder of the same form as the data folder: the store, the
// photos, the keys. One is made in three steps:
//
//  1. The store of this moment is copied beside the backup's, under another
//     name, and read through: a damaged store takes no good backup's place.
//  2. Photos and keys that the backup lacks are copied, each under another name
//     and renamed when it is whole. They came before that moment or after it, so
//     none that the store's lines name is missing.
//  3. The new store takes the old one's name.
//
// Each step is on disk before the next begins. So a power cut leaves the backup
// as it was, perhaps with some photos more, or the new one whole; and the next
// backup into the same folder copies only what is new.
const (
	scratch    = "new-*"     // what is being written
	keysFolder = "keys"      // see package cert
	restoring  = "restoring" // stands in a data folder until its restore is done
)

// isScratch knows what a copy that broke off left behind.
func isScratch(name string) bool { return strings.HasPrefix(name, "new-") }

// Backup copies the data folder into the folder to, which it makes, whether or
// not a server runs on it. The report is of the copy of the store; its faults
// are photos that were not copied because they are damaged. A running server is
// told what came of it, for its log.
func Backup(data, to string) (*Report, error) {
	report, err := backup(data, to)
	said := url.Values{"to": {to}}
	switch {
	case err != nil:
		said.Set("why", err.Error())
	case len(report.Faults) > 0:
		said.Set("why", fmt.Sprintf("whole, for 'bayhold verify' finds %d faults", len(report.Faults)))
	}
	if resp, _ := askServer(data, "POST", "/backup?"+said.Encode(), nil); resp != nil {
		resp.Body.Close()
	}
	return report, err
}

func backup(data, to string) (*Report, error) {
	if same(data, to) {
		return nil, errors.New("a backup goes into another folder, best on another disk")
	}
	if err := folder(to); err != nil {
		return nil, err
	}
	fresh, err := writeNew(to, func(f *os.File) error { return copyTo(data, f) })
	if err != nil {
		return nil, fmt.Errorf("copying the store: %w", err)
	}
	defer os.Remove(fresh)
	st, err := ReadStore(fresh)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	report, err := st.sound("the store is damaged, so the backup in " + to + " stays as it was")
	if err != nil {
		return report, err
	}
	if err := st.mayReplace(filepath.Join(to, StoreFile)); err != nil {
		return nil, err
	}
	if err := copyBeside(data, to, report); err != nil {
		return nil, err
	}
	if err := st.sweep(filepath.Join(to, photoFolder)); err != nil { // an earlier backup's
		return nil, err
	}
	return report, errors.Join(os.Rename(fresh, filepath.Join(to, StoreFile)), syncDir(to))
}

// sound reports on the store; one with faults is refused with these words.
func (st *Store) sound(refusal string) (*Report, error) {
	report, err := st.Report()
	switch {
	case err != nil:
		return nil, err
	case len(report.Faults) > 0:
		return report, errors.New(refusal)
	}
	return report, nil
}

// mayReplace refuses to write over anything but an older backup of this shop.
func (st *Store) mayReplace(path string) error {
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	old, err := ReadStore(path)
	if err != nil {
		return fmt.Errorf("what stands there cannot be read; take it away first: %w", err)
	}
	defer old.Close()
	switch {
	case old.shop != st.shop:
		return fmt.Errorf("%s is another shop's", path)
	case old.epoch > st.epoch:
		return fmt.Errorf("%s is newer: its store was restored since (epoch %d, this one's is %d)", path, old.epoch, st.epoch)
	}
	return nil
}

// Restore makes a data folder of a backup. Its store goes on from the backup's
// last lines in a new epoch, by which phones know that it may have lost lines
// which they have, and nobody is let in by what may have been taken away since. Damaged photos stay behind and are the report's faults.
func Restore(from, data string) (*Report, error) {
	if err := vacant(data); err != nil {
		return nil, err
	}
	st, err := Look(from)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	report, err := st.sound("this backup is damaged: take an older one")
	if err != nil {
		return report, err
	}
	if err := folder(data); err != nil {
		return nil, err
	}
	mark := filepath.Join(data, restoring)
	if err := errors.Join(os.WriteFile(mark, nil, 0o600), syncDir(data)); err != nil {
		return nil, err
	}
	if err := copyBeside(from, data, report); err != nil {
		return nil, err
	}
	if err := st.sweep(filepath.Join(data, photoFolder)); err != nil {
		return nil, err
	}
	fresh, err := writeNew(data, func(f *os.File) error {
		return st.db.View(func(tx *bolt.Tx) error { _, err := tx.WriteTo(f); return err })
	})
	if err != nil {
		return nil, err
	}
	defer os.Remove(fresh)
	if err := nextEpoch(fresh); err != nil {
		return nil, err
	}
	return report, errors.Join(os.Rename(fresh, filepath.Join(data, StoreFile)), syncDir(data), os.Remove(mark), syncDir(data))
}

// vacant refuses a data folder that holds anything but a restore that broke off.
func vacant(data string) error {
	list, err := os.ReadDir(data)
	if errors.Is(err, os.ErrNotExist) || err == nil && len(list) == 0 {
		return nil
	}
	if err != nil {
		return err
	}
	switch st, err := ReadStore(filepath.Join(data, StoreFile)); {
	case errors.Is(err, ErrInUse):
		return fmt.Errorf("%s is %w: restore into an empty folder", data, ErrInUse)
	case err == nil:
		st.Close()
	case brokeOff(data):
		return nil
	}
	return fmt.Errorf("%s is not empty: restore into an empty folder", data)
}

// brokeOff says that a restore into the folder did not come to its end.
func brokeOff(data string) bool {
	_, err := os.Stat(filepath.Join(data, restoring))
	_, none := os.Stat(filepath.Join(data, StoreFile))
	return err == nil && errors.Is(none, os.ErrNotExist)
}

// wholeRestore keeps a server from beginning an empty shop where a restore
// broke off.
func wholeRestore(data string) error {
	if brokeOff(data) {
		return fmt.Errorf("a restore into %s broke off: run it again", data)
	}
	return nil
}

// nextEpoch makes a copied store one of its own: the next epoch, in which the
// server writes under a new name.
func nextEpoch(path string) error {
	db, err := bolt.Open(path, 0o600, &bolt.Options{Timeout: time.Second, NoFreelistSync: true, FreelistType: bolt.FreelistMapType})
	if err != nil {
		return err
	}
	err = db.Update(func(tx *bolt.Tx) error {
		meta := tx.Bucket(bucketMeta)
		// What was taken away since is not to open the shop again: phones join
		// again (package join), the rest is made anew.
		for _, opens := range [][]byte{bucketPINs, bucketGrants} {
			if err := tx.DeleteBucket(opens); err != nil && !errors.Is(err, bolterrors.ErrBucketNotFound) {
				return err
			}
			if _, err := tx.CreateBucket(opens); err != nil {
				return err
			}
		}
		return errors.Join(
			meta.Put(keyEpoch, be64(binary.BigEndian.Uint64(meta.Get(keyEpoch))+1)),
			putID(meta, keyWriter, logbook.ID(uuid.Must(uuid.NewV7()))))
	})
	return errors.Join(err, db.Close())
}

// Compact writes the store of a data folder on which no server runs anew,
// without the room that deleted pages leave, and says its size before and after.
func Compact(data string) (before, after int64, err error) {
	path := filepath.Join(data, StoreFile)
	if _, err := os.Stat(path); err != nil {
		return 0, 0, fmt.Errorf("there is no store: %w", err)
	}
	st, err := openStore(path, false, time.Now) // the lock that keeps a server away
	if err != nil {
		return 0, 0, err
	}
	defer st.Close()
	if err := st.db.View(st.load); err != nil {
		return 0, 0, fmt.Errorf("the store %s: %w", path, err)
	}
	fresh, err := writeNew(data, func(*os.File) error { return nil })
	if err != nil {
		return 0, 0, err
	}
	defer os.Remove(fresh)
	db, err := bolt.Open(fresh, 0o600, &bolt.Options{Timeout: time.Second, NoFreelistSync: true, FreelistType: bolt.FreelistMapType})
	if err != nil {
		return 0, 0, err
	}
	const atOnce = 16 << 20 // bytes in a transaction
	if err := errors.Join(bolt.Compact(db, st.db, atOnce), db.Sync(), db.Close()); err != nil {
		return 0, 0, fmt.Errorf("writing the store anew: %w", err)
	}
	again, err := ReadStore(fresh)
	if err != nil {
		return 0, 0, err
	}
	err = errors.Join(again.Verify(), again.Close())
	if err != nil {
		return 0, 0, fmt.Errorf("the store is damaged and stays as it is: %w", err)
	}
	before, after = size(path), size(fresh)
	return before, after, errors.Join(os.Rename(fresh, path), syncDir(data))
}

func size(path string) int64 {
	st, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return st.Size()
}

// copyBeside copies the photos and keys that the folder to lacks. A damaged
// photo is a fault of the report and is not copied, so a good one that an
// earlier backup has stays.
func copyBeside(from, to string, report *Report) error {
	if err := folder(filepath.Join(to, photoFolder)); err != nil {
		return err
	}
	err := eachFile(filepath.Join(from, photoFolder), func(name, path string) error {
		if !isSHA256(name) {
			return nil
		}
		report.Photos++
		there := filepath.Join(to, photoFolder, name)
		if sum, err := fileSum(there); err == nil && sum == name {
			return nil
		}
		raw, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if hexSum(raw) != name {
			report.fault("photo %s: its bytes have another hash", name)
			return nil
		}
		return put(there, raw)
	})
	if err != nil {
		return fmt.Errorf("copying the photos: %w", err)
	}
	err = eachFile(filepath.Join(from, keysFolder), func(name, path string) error {
		raw, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		there := filepath.Join(to, keysFolder, name)
		if old, err := os.ReadFile(there); err == nil && bytes.Equal(old, raw) {
			return nil
		}
		return errors.Join(folder(filepath.Dir(there)), put(there, raw), syncDir(filepath.Dir(there)))
	})
	if err != nil {
		return fmt.Errorf("copying the keys: %w", err)
	}
	return errors.Join(syncDir(filepath.Join(to, photoFolder)), syncDir(to))
}

// eachFile calls f with the files of a folder, which may be missing.
func eachFile(dir string, f func(name, path string) error) error {
	list, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	for _, e := range list {
		if e.Type().IsRegular() && !isScratch(e.Name()) {
			if err := f(e.Name(), filepath.Join(dir, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// put makes a file that is whole or not there. Its name lasts after the
// folder's sync.
func put(path string, raw []byte) error {
	fresh, err := writeNew(filepath.Dir(path), func(f *os.File) error { _, err := f.Write(raw); return err })
	if err != nil {
		return err
	}
	defer os.Remove(fresh) // gone by then, if all is well
	return os.Rename(fresh, path)
}

// writeNew writes a file under a name of its own and syncs it.
func writeNew(dir string, write func(*os.File) error) (path string, err error) {
	f, err := os.CreateTemp(dir, scratch)
	if err != nil {
		return "", err
	}
	if err := errors.Join(write(f), f.Sync(), f.Close()); err != nil {
		os.Remove(f.Name())
		return "", err
	}
	return f.Name(), nil
}

// folder makes a folder that lasts, and clears what a copy that broke off more
// than a day ago left in it.
func folder(dir string) error {
	if _, err := os.Stat(dir); errors.Is(err, os.ErrNotExist) {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return err
		}
		return syncDir(filepath.Dir(dir))
	}
	list, err := os.ReadDir(dir)
	for _, e := range list {
		if st, err := e.Info(); err == nil && isScratch(e.Name()) && time.Since(st.ModTime()) > 24*time.Hour {
			os.Remove(filepath.Join(dir, e.Name()))
		}
	}
	return err
}

// same says whether two paths lead to one folder.
func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}
