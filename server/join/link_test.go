package join

import (
	"encoding/base64"
	"fmt"
	"strings"
	"testing"
)

func TestLink(t *testing.T) {
	token := LinkToken([16]byte{1, 2, 3})
	if raw, err := base64.RawURLEncoding.DecodeString(token); err != nil || len(raw)*8 != 128 {
		t.Fatalf("token %q holds %d bits: %v", token, len(raw)*8, err)
	}
	pass := LinkPass(token)
	sum := LinkSum(pass)
	if !LinkOpens(pass, sum) {
		t.Error("its own pass does not open it")
	}
	// What is kept, what travels and what was given are three things, and none
	// opens in the place of another.
	for _, bad := range []string{"", token, sum, pass[:len(pass)-1], pass + "A", LinkPass(LinkToken([16]byte{1, 2, 4})), strings.ToLower(pass)} {
		if LinkOpens(bad, sum) {
			t.Errorf("%q opens it", bad)
		}
	}
	if strings.Contains(sum, token) || strings.Contains(pass, token) {
		t.Error("the token shows in what is kept")
	}
	// A digit of the fragment that is changed without changing the bits it stands
	// for (the last sign of 22 has four spare ones) is another token all the same.
	if LinkOpens(LinkPass(token[:21]+"B"), sum) {
		t.Error("a token may be written in several ways")
	}
}

func TestLinkGuesses(t *testing.T) {
	var g Guesses
	now := int64(1_000_000)
	for n := range guessesFrom {
		if g.Slow("x", now) {
			t.Fatalf("slow after %d", n)
		}
		g.Wrong("x", now)
	}
	if !g.Slow("x", now) || g.Slow("y", now) {
		t.Error("it is the one that guessed who waits")
	}
	if g.Slow("x", now+guessSpan) {
		t.Error("it waits for ever")
	}
	for n := range 2 * most {
		g.Wrong(fmt.Sprint(n), now)
	}
	if len(g.at) > most {
		t.Errorf("%d addresses are remembered", len(g.at))
	}
}
