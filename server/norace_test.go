//go:build !race

package server

const raced = false
