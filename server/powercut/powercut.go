//go:build linux

// Package powercut is a disk whose power can be cut: a file system over FUSE
// that knows what was synced and what was only written.
//
// SIGKILL proves little about a disk: what a killed program wrote is in the
// kernel, and reaches the disk all the same. A power cut takes it. This disk
// serves a folder of its own, and beside every file keeps the pages that were
// written since the file's last fsync, and beside every folder the names that
// changed since the folder's. After [Disk.Cut] a disk may be left in many ways:
//
//   - what was synced, always;
//   - of the pages that were not, each or each not, by a seed: disks write in
//     any order, and a page of 4 KiB is whole or old;
//   - of the names that were not, each or each not, in the same way. A rename
//     within a folder is one step: the old name, or the new.
//
// It is stricter than the disks it stands for: a journal often saves a file's
// name with its fsync, and POSIX does not promise it.
//
// It needs Linux, /dev/fuse and the right to mount. It is for tests.
package powercut

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"syscall"

	"github.com/hanwen/go-fuse/v2/fs"
	"github.com/hanwen/go-fuse/v2/fuse"
)

const page = 4096

// Disk is a mounted disk.
type Disk struct {
	Dir string // where programs find it

	live   string // what programs see
	synced string // the synced bytes of each file, by inode number
	server *fuse.Server
	Syncs  int // fsyncs of files and folders so far

	mu    sync.Mutex
	cut   bool
	left  int  // fsyncs until the power goes, if it goes by itself
	dead  bool // it has gone
	files map[uint64]*file
	names map[string]map[string]uint64 // synced: folder -> name -> inode; 0 is a folder
}

// file is what is not synced of one file.
type file struct {
	pages   map[int64]bool
	resized bool
}

// Mount makes a disk in dir, which must be empty. The error says why there can
// be none on this machine.
func Mount(dir string) (*Disk, error) {
	d := &Disk{Dir: filepath.Join(dir, "disk"), live: filepath.Join(dir, "live"), synced: filepath.Join(dir, "synced"),
		files: map[uint64]*file{}, names: map[string]map[string]uint64{".": {}}}
	for _, p := range []string{d.Dir, d.live, d.synced} {
		if err := os.Mkdir(p, 0o700); err != nil {
			return nil, err
		}
	}
	root := &fs.LoopbackRoot{Path: d.live}
	root.NewNode = func(*fs.LoopbackRoot, *fs.Inode, string, *syscall.Stat_t) fs.InodeEmbedder {
		return &node{fs.LoopbackNode{RootData: root}, d}
	}
	top := &node{fs.LoopbackNode{RootData: root}, d}
	root.RootNode = top
	var err error
	d.server, err = fs.Mount(d.Dir, top, &fs.Options{MountOptions: fuse.MountOptions{
		FsName: "powercut", Name: "powercut", DisableXAttrs: true, DirectMountStrict: true}})
	if err != nil {
		return nil, fmt.Errorf("this machine mounts no file system of a program (needs /dev/fuse and the right to): %w", err)
	}
	return d, nil
}

// Cut cuts the power: the disk is gone. The programs that use it must be dead.
func (d *Disk) Cut() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.cut {
		return nil
	}
	if err := d.server.Unmount(); err != nil {
		return fmt.Errorf("is a program still using the disk? %w", err)
	}
	d.cut = true
	return nil
}

// Settle makes all that was written last, as a shutdown does.
func (d *Disk) Settle() error {
	return filepath.Walk(d.live, func(path string, st os.FileInfo, err error) error {
		if err != nil {
			return err
		}
		if st.IsDir() {
			folder, err := filepath.Rel(d.live, path)
			return errors.Join(err, d.syncFolder(folder))
		}
		return d.syncFile(path, inode(st))
	})
}

// CutBefore cuts the power by itself, before the fsync with this number from
// now, 1 for the next. That one and whatever a program does to the disk behind
// it fail and change nothing.
func (d *Disk) CutBefore(fsync int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.left = fsync
}

// sync counts an fsync; an error says that the power has gone. It is called
// with the lock held.
func (d *Disk) sync() error {
	if d.left > 0 {
		d.left--
		d.dead = d.dead || d.left == 0
	}
	if d.dead {
		return syscall.EIO
	}
	d.Syncs++
	return nil
}

func (d *Disk) isDead() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.dead
}

// Left makes the folder to, which must not exist, as the cut left the disk.
// The same seed leaves the same.
func (d *Disk) Left(to string, seed uint64) error {
	if err := d.Cut(); err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.leave(".", to, rand.New(rand.NewPCG(seed, 1)))
}

func (d *Disk) leave(folder, to string, luck *rand.Rand) error {
	if err := os.Mkdir(to, 0o700); err != nil {
		return err
	}
	now, err := d.listing(folder)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	left := maps.Clone(d.names[folder])
	if left == nil {
		left = map[string]uint64{}
	}
	// What changed unsynced either happened or did not. A rename is one step: the
	// old name or the new, and what was under the new name until then.
	decided := map[string]bool{}
	for _, name := range sorted(left) {
		ino := left[name]
		if to, ok := nameOf(now, ino); ok && ino != 0 && now[name] != ino {
			decided[name], decided[to] = true, true
			if luck.IntN(2) == 0 {
				delete(left, name)
				left[to] = ino
			}
		}
	}
	for _, name := range sorted(union(left, now)) {
		ino, is := now[name]
		if decided[name] || is && has(left, name) && left[name] == ino || luck.IntN(2) == 0 {
			continue
		}
		if is {
			left[name] = ino
		} else {
			delete(left, name)
		}
	}
	for _, name := range sorted(left) {
		if left[name] == 0 {
			err = d.leave(filepath.Join(folder, name), filepath.Join(to, name), luck)
		} else {
			err = d.leaveFile(left[name], filepath.Join(to, name), luck)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// leaveFile writes the synced bytes, and of the others some pages.
func (d *Disk) leaveFile(ino uint64, to string, luck *rand.Rand) error {
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	defer out.Close()
	if in, err := os.Open(d.bytesOf(ino)); err == nil {
		_, err = io.Copy(out, in)
		in.Close()
		if err != nil {
			return err
		}
	}
	f, path := d.files[ino], d.pathOf(ino)
	if f == nil || path == "" {
		return nil
	}
	in, err := os.Open(path)
	if err != nil {
		return err
	}
	defer in.Close()
	st, err := in.Stat()
	if err != nil {
		return err
	}
	if f.resized && luck.IntN(2) == 0 {
		if err := out.Truncate(st.Size()); err != nil {
			return err
		}
	}
	for _, p := range sortedPages(f.pages) {
		if luck.IntN(2) == 0 {
			if err := copyPage(out, in, p); err != nil {
				return err
			}
		}
	}
	return nil
}

// wrote remembers the pages of a write.
func (d *Disk) wrote(ino uint64, off int64, n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := d.of(ino)
	for p := off / page; p*page < off+int64(n); p++ {
		f.pages[p] = true
	}
}

func (d *Disk) resized(ino uint64) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.of(ino).resized = true
}

func (d *Disk) of(ino uint64) *file {
	if d.files[ino] == nil {
		d.files[ino] = &file{pages: map[int64]bool{}, resized: true}
	}
	return d.files[ino]
}

// syncFile makes the bytes of a file last.
func (d *Disk) syncFile(path string, ino uint64) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.sync(); err != nil {
		return err
	}
	in, err := os.Open(path)
	if err != nil {
		return err
	}
	defer in.Close()
	st, err := in.Stat()
	if err != nil {
		return err
	}
	out, err := os.OpenFile(d.bytesOf(ino), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	defer out.Close()
	if err := out.Truncate(st.Size()); err != nil {
		return err
	}
	for p := range d.of(ino).pages {
		if err := copyPage(out, in, p); err != nil {
			return err
		}
	}
	d.files[ino] = &file{pages: map[int64]bool{}}
	return nil
}

// syncFolder makes the names in a folder last.
func (d *Disk) syncFolder(folder string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.sync(); err != nil {
		return err
	}
	now, err := d.listing(folder)
	d.names[folder] = now
	return err
}

// listing is what a folder holds now.
func (d *Disk) listing(folder string) (map[string]uint64, error) {
	list, err := os.ReadDir(filepath.Join(d.live, folder))
	names := map[string]uint64{}
	for _, e := range list {
		if e.IsDir() {
			names[e.Name()] = 0
			continue
		}
		st, err := os.Lstat(filepath.Join(d.live, folder, e.Name()))
		if err != nil {
			return nil, err
		}
		names[e.Name()] = inode(st)
	}
	return names, err
}

func (d *Disk) bytesOf(ino uint64) string {
	return filepath.Join(d.synced, fmt.Sprint(ino))
}

// pathOf finds where a file is now, "" if it was deleted.
func (d *Disk) pathOf(ino uint64) (found string) {
	filepath.Walk(d.live, func(path string, st os.FileInfo, err error) error {
		if err == nil && !st.IsDir() && inode(st) == ino {
			found = path
		}
		return nil
	})
	return found
}

func inode(st os.FileInfo) uint64 { return st.Sys().(*syscall.Stat_t).Ino }

func copyPage(out, in *os.File, p int64) error {
	b := make([]byte, page)
	n, err := in.ReadAt(b, p*page)
	if err != nil && err != io.EOF {
		return err
	}
	_, err = out.WriteAt(b[:n], p*page)
	return err
}

// node is a file or a folder of the disk.
type node struct {
	fs.LoopbackNode
	disk *Disk
}

func (n *node) path() string { return filepath.Join(n.disk.live, n.Path(nil)) }

func (n *node) Open(ctx context.Context, flags uint32) (fs.FileHandle, uint32, syscall.Errno) {
	in, fl, e := n.LoopbackNode.Open(ctx, flags)
	if e != 0 {
		return in, fl, e
	}
	if flags&syscall.O_TRUNC != 0 {
		n.disk.resized(inodeOf(n.path()))
	}
	return &handle{in, n, inodeOf(n.path())}, fl, 0
}

func (n *node) Create(ctx context.Context, name string, flags, mode uint32, out *fuse.EntryOut) (*fs.Inode, fs.FileHandle, uint32, syscall.Errno) {
	if n.disk.isDead() {
		return nil, nil, 0, syscall.EIO
	}
	child, in, fl, e := n.LoopbackNode.Create(ctx, name, flags, mode, out)
	if e != 0 {
		return child, in, fl, e
	}
	ino := inodeOf(filepath.Join(n.path(), name))
	// The kernel may give a deleted file's number again: this is another file.
	os.Remove(n.disk.bytesOf(ino))
	n.disk.mu.Lock()
	delete(n.disk.files, ino)
	n.disk.mu.Unlock()
	n.disk.resized(ino)
	return child, &handle{in, child.Operations().(*node), ino}, fl, 0
}

func (n *node) Setattr(ctx context.Context, f fs.FileHandle, in *fuse.SetAttrIn, out *fuse.AttrOut) syscall.Errno {
	if h, ok := f.(*handle); ok {
		f = h.in
	}
	e := n.LoopbackNode.Setattr(ctx, f, in, out)
	if _, sized := in.GetSize(); sized && e == 0 {
		n.disk.resized(inodeOf(n.path()))
	}
	return e
}

func (n *node) Unlink(ctx context.Context, name string) syscall.Errno {
	if n.disk.isDead() {
		return syscall.EIO
	}
	return n.LoopbackNode.Unlink(ctx, name)
}

func (n *node) Rename(ctx context.Context, name string, to fs.InodeEmbedder, toName string, flags uint32) syscall.Errno {
	if n.disk.isDead() {
		return syscall.EIO
	}
	return n.LoopbackNode.Rename(ctx, name, to, toName, flags)
}

// OpendirHandle hands out the loopback's listing with an fsync of our own.
func (n *node) OpendirHandle(ctx context.Context, flags uint32) (fs.FileHandle, uint32, syscall.Errno) {
	in, fl, e := n.LoopbackNode.OpendirHandle(ctx, flags)
	if e != 0 {
		return in, fl, e
	}
	return &folder{in.(listing), n}, fl, 0
}

// listing is what the loopback's open folder can do.
type listing interface {
	fs.FileReaddirenter
	fs.FileReleasedirer
	fs.FileSeekdirer
}

// folder is an open folder.
type folder struct {
	listing
	n *node
}

func (f *folder) Fsyncdir(context.Context, uint32) syscall.Errno {
	return fs.ToErrno(f.n.disk.syncFolder(f.n.folder()))
}

func (n *node) folder() string {
	if p := n.Path(nil); p != "" {
		return p
	}
	return "."
}

// handle is an open file. It hides what would let the kernel write past us.
type handle struct {
	in  fs.FileHandle
	n   *node
	ino uint64
}

func (h *handle) Read(c context.Context, b []byte, off int64) (fuse.ReadResult, syscall.Errno) {
	return h.in.(fs.FileReader).Read(c, b, off)
}

func (h *handle) Write(c context.Context, b []byte, off int64) (uint32, syscall.Errno) {
	if h.n.disk.isDead() {
		return 0, syscall.EIO
	}
	h.n.disk.wrote(h.ino, off, len(b))
	return h.in.(fs.FileWriter).Write(c, b, off)
}

func (h *handle) Flush(c context.Context) syscall.Errno   { return h.in.(fs.FileFlusher).Flush(c) }
func (h *handle) Release(c context.Context) syscall.Errno { return h.in.(fs.FileReleaser).Release(c) }

func (h *handle) Getattr(c context.Context, out *fuse.AttrOut) syscall.Errno {
	return h.in.(fs.FileGetattrer).Getattr(c, out)
}

func (h *handle) Fsync(ctx context.Context, flags uint32) syscall.Errno {
	return fs.ToErrno(h.n.disk.syncFile(h.n.path(), h.ino))
}

func inodeOf(path string) uint64 {
	st, err := os.Lstat(path)
	if err != nil {
		return 0
	}
	return inode(st)
}
