package sealed

import (
	"archive/zip"
	"compress/flate"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"strings"
)

// What is read of a record that somebody hands over. A shop's own records stay
// far below: a line has at most 16 KiB and a photo 12 MiB.
const (
	maxFiles = 10_000
	maxName  = 200
	maxText  = 64 << 20 // bytes of a file that is read as a whole
	maxAll   = 8 << 30  // bytes of all files together
)

// opened is a record as it lies there: a folder, or a zip.
type opened struct {
	names []string
	files map[string]there
	total uint64
	zip   io.ReaderAt // nil for a folder
	close func() error
}

// there is a file as the folder or the zip says it is.
type there struct {
	size uint64
	open func() (io.ReadCloser, error)
}

// open lists a record's files and refuses what no record has: paths that lead
// out of it, links, a name twice, more than the limits.
func open(name string) (*opened, error) {
	st, err := os.Stat(name)
	if err != nil {
		return nil, err
	}
	o := &opened{files: map[string]there{}}
	if st.IsDir() {
		err = o.folder(name)
	} else if f, ferr := os.Open(name); ferr != nil {
		err = ferr
	} else {
		o.close = f.Close
		err = o.packed(f, st.Size())
	}
	if err != nil {
		if o.close != nil {
			o.close()
		}
		return nil, err
	}
	return o, nil
}

func (o *opened) folder(name string) error {
	root, err := os.OpenRoot(name)
	if err != nil {
		return err
	}
	o.close = root.Close
	return fs.WalkDir(root.FS(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		if !info.Mode().IsRegular() {
			return fmt.Errorf("%s is no plain file: a record has no links", path)
		}
		return o.put(path, there{uint64(info.Size()), func() (io.ReadCloser, error) { return root.Open(path) }})
	})
}

func (o *opened) packed(f io.ReaderAt, size int64) error {
	o.zip = f
	z, err := zip.NewReader(f, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return fmt.Errorf("it is neither a folder nor a zip that can be read: %w", err)
	}
	if len(z.File) > maxFiles {
		return fmt.Errorf("it has %d files; at most %d are read", len(z.File), maxFiles)
	}
	top := topFolder(z)
	for _, f := range z.File {
		name := strings.TrimPrefix(f.Name, top)
		if strings.HasSuffix(f.Name, "/") && f.UncompressedSize64 == 0 {
			continue // a folder's own entry
		}
		switch {
		case f.Flags&1 != 0:
			return fmt.Errorf("%q is encrypted: unpack it first", f.Name)
		case f.Method != zip.Store && f.Method != zip.Deflate:
			return fmt.Errorf("%q is packed by method %d: only 0 (stored) and 8 (deflate) are read", f.Name, f.Method)
		case !f.Mode().IsRegular():
			return fmt.Errorf("%q is no plain file: a record has no links", f.Name)
		case f.Method == zip.Store && f.CompressedSize64 != f.UncompressedSize64:
			return fmt.Errorf("%q is stored and has two lengths", f.Name)
		}
		err := o.put(name, there{f.UncompressedSize64, func() (io.ReadCloser, error) {
			raw, err := f.OpenRaw() // what zip's own checksum says is seen by the hash
			if err != nil {
				return nil, err
			}
			if f.Method == zip.Store {
				return io.NopCloser(raw), nil
			}
			return flate.NewReader(raw), nil
		}})
		if err != nil {
			return err
		}
	}
	return nil
}

// topFolder is the one folder that a zip was made of, "" if its files lie at the
// top.
func topFolder(z *zip.Reader) string {
	for _, f := range z.File {
		if path.Base(f.Name) == nameSeal && strings.Count(f.Name, "/") == 1 {
			top := f.Name[:len(f.Name)-len(nameSeal)]
			for _, g := range z.File {
				if !strings.HasPrefix(g.Name, top) {
					return ""
				}
			}
			return top
		}
	}
	return ""
}

func (o *opened) put(name string, f there) error {
	if !fs.ValidPath(name) || strings.ContainsAny(name, "\\:\x00") || len(name) > maxName {
		return fmt.Errorf("%q is no name that a record's file has", name)
	}
	if _, twice := o.files[name]; twice {
		return fmt.Errorf("%q stands in it twice", name)
	}
	if o.names = append(o.names, name); len(o.names) > maxFiles {
		return fmt.Errorf("it has more than %d files", maxFiles)
	}
	o.files[name] = f
	if o.total += min(f.size, maxAll+1); o.total > maxAll {
		return fmt.Errorf("its files unpack to more than %d GiB", maxAll>>30)
	}
	return nil
}

// read reads a file whole, if it has the length that it says.
func (o *opened) read(name string) ([]byte, error) {
	f, ok := o.files[name]
	if !ok {
		return nil, fs.ErrNotExist
	}
	if f.size > maxText {
		return nil, fmt.Errorf("it has %d MiB; at most %d are read", f.size>>20, maxText>>20)
	}
	in, err := f.open()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	b, err := io.ReadAll(io.LimitReader(in, int64(f.size)+1))
	if err == nil && uint64(len(b)) != f.size {
		err = errors.New("it has another length than it says")
	}
	return b, err
}
