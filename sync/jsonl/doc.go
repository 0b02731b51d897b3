// Package jsonl writes entries as JSON Lines, which people and other programs
// read, and reads them back. The format is a chapter of the doc comment of
// the folder above, sync.
package jsonl
