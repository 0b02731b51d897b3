package server

import win "golang.org/x/sys/windows"

// diskFree is the room that this process may use on the disk of a folder.
func diskFree(dir string) (free uint64, err error) {
	name, err := win.UTF16PtrFromString(dir)
	if err == nil {
		err = win.GetDiskFreeSpaceEx(name, &free, nil, nil)
	}
	return free, err
}

// errNoRoom is a full disk's answer to a write.
const errNoRoom = win.ERROR_DISK_FULL
