package join

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
)

// An owner's link is no phone: it opens one job, until it ends or is taken back,
// and joins nothing. Its token is 128 random bits that stand in the fragment of
// an address and nowhere else. The browser gives it away once, for a pass that it
// is the hash of; the shop keeps the hash of the pass, in the line that says that
// the link was given. So what is kept opens nothing, what the browser keeps is
// not the link, and a server that starts again still knows both.

// LinkToken is the token of a link, of 16 random bytes: 22 signs of base64url.
func LinkToken(random [16]byte) string { return base64.RawURLEncoding.EncodeToString(random[:]) }

// LinkPass is the pass that a token is given for.
func LinkPass(token string) string {
	sum := sha256.Sum256([]byte("bayhold owner pass 1\n" + token))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}

// LinkSum is what the shop keeps of a pass: hex SHA-256.
func LinkSum(pass string) string {
	sum := sha256.Sum256([]byte("bayhold owner link 1\n" + pass))
	return hex.EncodeToString(sum[:])
}

// LinkOpens says whether a pass is that of a sum. How long it takes tells nothing
// of either.
func LinkOpens(pass, sum string) bool {
	return subtle.ConstantTimeCompare([]byte(LinkSum(pass)), []byte(sum)) == 1
}

// most is how many addresses are remembered: whoever has more of them than that
// guesses at 128 bits, and is only kept from making work.
const most = 10_000

// Guesses counts wrong ones by the address that they came from. The zero value
// has seen none. It is not safe for use from several goroutines at once.
type Guesses struct{ at map[string][]int64 }

// Slow says that an address guessed too often to be heard now.
func (g *Guesses) Slow(address string, now int64) bool {
	recent := g.at[address]
	for len(recent) > 0 && recent[0] <= now-guessSpan {
		recent = recent[1:]
	}
	if len(recent) == 0 {
		delete(g.at, address)
		return false
	}
	g.at[address] = recent
	return len(recent) >= guessesFrom
}

// Wrong notes one.
func (g *Guesses) Wrong(address string, now int64) {
	if g.at == nil || len(g.at) >= most {
		g.at = map[string][]int64{}
	}
	g.at[address] = append(g.at[address], now)
}
