package join

import (
	"encoding/hex"
	"testing"

	"bayhold/sync/logbook"
)

// RFC 7914 section 11 (from memory): PBKDF2-HMAC-SHA-256 of "passwd" with "salt"
// in one round, its first 32 bytes.
func TestPINHash(t *testing.T) {
	p := PIN{Rounds: 1, Salt: []byte("salt")}
	got, err := p.hash("passwd")
	if want := "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"; err != nil || hex.EncodeToString(got) != want {
		t.Errorf("%x %v, want %s", got, err, want)
	}
	if PINRounds < 600_000 { // OWASP Password Storage Cheat Sheet, PBKDF2-HMAC-SHA256
		t.Errorf("%d rounds", PINRounds)
	}
}

func TestPIN(t *testing.T) {
	for _, c := range []struct {
		digits string
		want   error
	}{
		{"4071", nil}, {"40719382", nil}, {"0000123", nil},
		{"", ErrPINForm}, {"407", ErrPINForm}, {"407193825", ErrPINForm}, {"40a1", ErrPINForm}, {"４０７１", ErrPINForm}, {" 4071", ErrPINForm}, {"-407", ErrPINForm},
		{"0000", ErrPINEasy}, {"1234", ErrPINEasy}, {"7890", ErrPINEasy}, {"876543", ErrPINEasy}, {"0987", ErrPINEasy},
	} {
		p, err := NewPIN(c.digits, [16]byte{1}, 10)
		if err != c.want {
			t.Errorf("%q: %v, want %v", c.digits, err, c.want)
		}
		if err == nil && (!p.Is(c.digits) || p.Is(c.digits+"0") || p.Is("") || p.Is("9"+c.digits[1:])) {
			t.Errorf("%q is not told from others", c.digits)
		}
	}
	a, _ := NewPIN("4071", [16]byte{1}, 10)
	b, _ := NewPIN("4071", [16]byte{2}, 10)
	if string(a.Hash) == string(b.Hash) {
		t.Error("two leads with one PIN have one hash")
	}
}

// Three wrong ones, then 1, 2, 4 ... minutes, a day at most; off after 20. So a
// guesser gets no more than 20 of the 10,000 PINs of four digits.
func TestTries(t *testing.T) {
	const minute = 60_000
	now, tries := int64(1_000_000), Tries{}
	for n, want := range []int64{0, 0, 1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 1440, 1440} {
		if tries = tries.Next(now); max(0, tries.Until-now) != want*minute {
			t.Errorf("after %d wrong ones the wait is %d ms, want %d min", n+1, tries.Until-now, want)
		}
	}
	for tries.Wrong < 20 {
		if tries.Over() {
			t.Errorf("off after %d", tries.Wrong)
		}
		tries = tries.Next(now)
	}
	if !tries.Over() {
		t.Error("on after 20")
	}
	for range 1000 {
		if tries = tries.Next(now); tries.Until-now != 1440*minute {
			t.Fatalf("after %d: %d", tries.Wrong, tries.Until-now)
		}
	}
}

// A time in which a lead's acts count is that phone's, that lead's, and over.
func TestAllowed(t *testing.T) {
	bay, wash, mara, jon := logbook.Named("bay's"), logbook.Named("wash's"), logbook.Named("mara"), logbook.Named("jon")
	r := NewRoll()
	kind, body := Opened(bay, mara, 400_000)
	if err := r.Add(kind, body, 100_000, true); err != nil || !Reserved(kind) {
		t.Fatal(kind, err)
	}
	for _, c := range []struct {
		device, person logbook.ID
		at             int64
		want           bool
	}{
		{bay, mara, 100_000, true}, {bay, mara, 399_999, true}, {bay, mara, 400_000, false}, {bay, mara, 99_999, false},
		{wash, mara, 200_000, false}, {bay, jon, 200_000, false},
	} {
		if got := r.Allowed(c.device, c.person, c.at); got != c.want {
			t.Errorf("at %d: %v", c.at, got)
		}
	}
	// A line that says longer than is given does not hold longer.
	kind, body = Opened(bay, mara, 1<<50)
	if err := r.Add(kind, body, 500_000, true); err != nil || r.Allowed(bay, mara, 500_000+AllowanceLasts) || !r.Allowed(bay, mara, 500_000) {
		t.Errorf("%v %+v", err, r.Opens(bay))
	}
	for n := range int64(20) {
		r.Add(kind, body, 1_000_000+n, true)
	}
	if n := len(r.Opens(bay)); n != 8 {
		t.Errorf("%d are remembered", n)
	}
}
