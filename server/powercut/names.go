//go:build linux

package powercut

import (
	"maps"
	"slices"
)

// The luck of a seed must not hang on the order of a map.
func sorted(m map[string]uint64) []string       { return slices.Sorted(maps.Keys(m)) }
func sortedPages(m map[int64]bool) []int64      { return slices.Sorted(maps.Keys(m)) }
func has(m map[string]uint64, name string) bool { _, ok := m[name]; return ok }

// union has the names of both.
func union(a, b map[string]uint64) map[string]uint64 {
	all := maps.Clone(a)
	maps.Copy(all, b)
	return all
}

// nameOf is the name of an inode in a folder.
func nameOf(m map[string]uint64, ino uint64) (string, bool) {
	for _, name := range sorted(m) {
		if m[name] == ino {
			return name, true
		}
	}
	return "", false
}
