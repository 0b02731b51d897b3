//go:build !windows

package server

import "syscall"

// diskFree is the room that this process may use on the disk of a folder.
func diskFree(dir string) (uint64, error) {
	var st syscall.Statfs_t
	err := syscall.Statfs(dir, &st)
	return uint64(st.Bavail) * uint64(st.Bsize), err
}

// errNoRoom is a full disk's answer to a write.
const errNoRoom = syscall.ENOSPC
