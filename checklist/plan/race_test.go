//go:build race

package plan

const raced = true
