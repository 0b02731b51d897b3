package sha256_test

import (
	standard "crypto/sha256"
	"encoding/hex"
	"testing"

	"bayhold/sync/sha256"
)

// The examples of FIPS 180-2 appendix B, from memory; crypto/sha256 agrees.
func TestPublished(t *testing.T) {
	for text, want := range map[string]string{
		"":    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"abc": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
		"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq": "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
	} {
		got := sha256.Plain([]byte(text))
		if hex.EncodeToString(got[:]) != want {
			t.Errorf("%q: %x, want %s", text, got, want)
		}
	}
}

// Every length around the block edges, against the standard library.
func TestAgainstStandardLibrary(t *testing.T) {
	b := make([]byte, 1000)
	for i := range b {
		b[i] = byte(i*7 + i>>8)
	}
	for n := range b {
		if got, want := sha256.Plain(b[:n]), standard.Sum256(b[:n]); got != want {
			t.Fatalf("%d bytes: %x, want %x", n, got, want)
		}
	}
}

// Whatever the platform's Sum is, it is the same function.
func TestSum(t *testing.T) {
	b := []byte("a line of the logbook")
	if got, want := sha256.Sum(b), sha256.Plain(b); got != want {
		t.Errorf("%x, and the phone's %x", got, want)
	}
}

func FuzzSum(f *testing.F) {
	f.Fuzz(func(t *testing.T, b []byte) {
		if got, want := sha256.Plain(b), standard.Sum256(b); got != want {
			t.Fatalf("%x: %x, want %x", b, got, want)
		}
	})
}

func BenchmarkSum200(b *testing.B) {
	p := make([]byte, 200)
	b.SetBytes(200)
	for b.Loop() {
		sha256.Plain(p)
	}
}
