package join

import (
	"crypto/pbkdf2"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"strings"
)

// AllowanceLasts is how long a lead's acts count from a shared phone after the
// PIN was typed on it, ms: long enough for one go-ahead, shorter than a break.
const AllowanceLasts = 5 * 60_000

// PINRounds are the rounds of PBKDF2 with HMAC-SHA-256 that a guess costs, as
// the OWASP Password Storage Cheat Sheet has it (from memory). They make a
// guesser who holds the hash slow and no more: there are ten thousand PINs of
// four digits. What keeps one out who does not hold it is Tries.
const PINRounds = 600_000

// PIN is what the shop keeps of a lead's PIN, outside every logbook.
type PIN struct {
	Rounds     int
	Salt, Hash []byte
}

// What a PIN must be.
var (
	ErrPINForm = errors.New("A PIN has 4 to 8 digits.")
	ErrPINEasy = errors.New("Anybody tries this one first. Take other digits.")
)

// NewPIN hashes a PIN with 16 random bytes of salt.
func NewPIN(digits string, salt [16]byte, rounds int) (p PIN, err error) {
	if len(digits) < 4 || len(digits) > 8 || strings.Trim(digits, "0123456789") != "" {
		return p, ErrPINForm
	}
	const up, down = "01234567890", "09876543210"
	if strings.Count(digits, digits[:1]) == len(digits) || strings.Contains(up, digits) || strings.Contains(down, digits) {
		return p, ErrPINEasy
	}
	p = PIN{Rounds: rounds, Salt: salt[:]}
	p.Hash, err = p.hash(digits)
	return p, err
}

func (p *PIN) hash(digits string) ([]byte, error) {
	return pbkdf2.Key(sha256.New, digits, p.Salt, p.Rounds, sha256.Size)
}

// Is says whether these digits are the PIN, in a time that tells nothing of it.
func (p *PIN) Is(digits string) bool {
	if len(digits) > 8 {
		return false
	}
	got, err := p.hash(digits)
	return err == nil && subtle.ConstantTimeCompare(got, p.Hash) == 1
}

// Tries are the wrong PINs in a row, of a person's or from a phone. They are
// counted before the PIN is looked at and kept on disk, so that neither a
// restart nor many guesses at once win anything.
type Tries struct {
	Wrong int
	Until int64 // ms: before it none is looked at
}

// A slip of the finger costs nothing, then each wrong PIN doubles the wait. NIST
// SP 800-63B section 5.2.2 (from memory) allows at most 100 in a row; here a PIN is
// off after 20, and a guesser's chance of one in four digits is 20 in 10,000.
const (
	triesFree  = 3
	triesWait  = 60_000 // ms, after the first that is not free
	triesWorst = 24 * 3600_000
	triesMost  = 20
)

// Over says that a PIN was guessed at too often: it is off until it is set anew.
func (t Tries) Over() bool { return t.Wrong >= triesMost }

// Next is one more wrong PIN at a moment.
func (t Tries) Next(now int64) Tries {
	t.Wrong++
	if over := t.Wrong - triesFree; over >= 0 {
		t.Until = now + min(int64(triesWait)<<min(over, 20), triesWorst)
	}
	return t
}
