//go:build !race

package plan

const raced = false
