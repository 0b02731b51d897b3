package server

import "golang.org/x/sys/windows"

// diskFree is the room that this process may use on the disk of a folder.
func diskFree(dir string) (free uint64, err error) {
	name, err := windows.UTF16PtrFromString(dir)
	if err == nil {
		err = windows.GetDiskFreeSpaceEx(name, &free, nil, nil)
	}
	return free, err
}
