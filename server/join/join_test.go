package join

import (
	"encoding/hex"
	"math"
	"strings"
	"testing"

	"bayhold/sync/logbook"
)

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// RFC 6979 appendix A.2.5: ECDSA with P-256 and SHA-256 over "sample". The key
// is written as SEC 1 section 2.3.3 says, the signature as IEEE P1363 does,
// which is what the Web Cryptography API gives (section 23.7.1 there).
func TestProves(t *testing.T) {
	d := Device{Key: unhex(t, "04"+
		"60FED4BA255A9D31C961EB74C6356D68C049B8923B61FA6CE669622E60F29FB6"+
		"7903FE1008B8BC99A41AE9E95628BC64F2F1B20C2D7E9F5177A3C294D4462299")}
	signature := unhex(t, "EFD48B2AACB6A8FD1140DD9CD45E81D69D2C877B56AAF991C34D0EA84EAF3716"+
		"F7CB1C942D657C41D436C7A1B6E29F65F3E900DBB9AFF4064DC4AB2F843ACDA8")
	if !d.Proves([]byte("sample"), signature) {
		t.Error("the RFC's signature is refused")
	}
	if d.Proves([]byte("samplf"), signature) {
		t.Error("a signature of something else is taken")
	}
	for i := range signature {
		bad := append([]byte(nil), signature...)
		bad[i] ^= 1
		if d.Proves([]byte("sample"), bad) {
			t.Errorf("a signature with byte %d changed is taken", i)
		}
	}
	for _, s := range [][]byte{nil, signature[:63], append(signature[:64:64], 0), make([]byte, 64)} {
		if d.Proves([]byte("sample"), s) {
			t.Errorf("%x is taken for a signature", s)
		}
	}
}

// What is signed differs whenever origin, phone or nonce do, wherever the parts
// are cut: none of them can hold a line feed (an origin is RFC 6454 section 6.2's
// ASCII serialization, an id a UUID, a nonce base64url).
func TestSaid(t *testing.T) {
	a, b := logbook.Named("a"), logbook.Named("b")
	seen := map[string]bool{}
	for _, origin := range []string{"https://shop.local:8443", "https://shop.local:844"} {
		for _, id := range []logbook.ID{a, b} {
			for _, nonce := range []string{"3x", "x", ""} {
				seen[string(Said(origin, id, nonce))] = true
			}
		}
	}
	if len(seen) != 2*2*3 {
		t.Errorf("%d texts of 12 differ", len(seen))
	}
}

func TestRoll(t *testing.T) {
	key := unhex(t, "0460FED4BA255A9D31C961EB74C6356D68C049B8923B61FA6CE669622E60F29FB67903FE1008B8BC99A41AE9E95628BC64F2F1B20C2D7E9F5177A3C294D4462299")
	id, other, name := logbook.Named("lead's"), logbook.Named("other"), logbook.Named("name")
	r := NewRoll()
	add := func(kind string, body []byte, at int64) {
		t.Helper()
		if err := r.Add(kind, body, at, true); err != nil {
			t.Error(err)
		}
	}
	if r.Led() {
		t.Error("an empty roll has a lead's phone")
	}
	kind, body := Added(Device{ID: id, Key: key, Name: "Mara's phone", Role: Lead, Salt: make([]byte, 16)})
	add(kind, body, 1000)
	d, ok := r.Device(id)
	if !ok || d.Name != "Mara's phone" || d.Role != Lead || string(d.Key) != string(key) || d.Joined != 1000 || d.Revoked != 0 || !r.Led() {
		t.Errorf("joined: %+v %v", d, ok)
	}
	// Nobody takes a phone's id with a key of their own: the first line holds.
	kind, body = Added(Device{ID: id, Key: key, Name: "Somebody", Role: Crew})
	add(kind, body, 2000)
	if d, _ := r.Device(id); d.Name != "Mara's phone" {
		t.Errorf("the second line about a phone holds: %+v", d)
	}
	kind, body = Writes(id, name)
	add(kind, body, 3000)
	kind, body = Writes(other, name)
	add(kind, body, 3000)
	if holder, ok := r.Writer(name); !ok || holder != id {
		t.Errorf("the name went to %v", holder)
	}
	kind, body = Taken(id, other)
	add(kind, body, 4000)
	add(kind, body, 5000)
	if d, _ := r.Device(id); d.Revoked != 4000 || r.Led() {
		t.Errorf("taken off: %+v", d)
	}
	kind, body = Added(Device{ID: id, Key: key, Name: "back", Role: Lead})
	add(kind, body, 6000)
	if d, _ := r.Device(id); d.Revoked == 0 {
		t.Error("a phone that was taken off is put on again")
	}
	off := append([]byte(nil), key...)
	off[64] ^= 1 // no point of the curve: y is another
	kind, body = Added(Device{ID: other, Key: off, Role: Crew})
	for _, bad := range []struct {
		kind string
		body []byte
	}{{kind, body}, {kindAdd, []byte("no CBOR")}, {kindRevoke, []byte{0xa0}}} {
		if r.Add(bad.kind, bad.body, 1, true) == nil {
			t.Errorf("%s %x is taken", bad.kind, bad.body)
		}
	}
	if err := r.Add("tick", []byte("anything"), 1, true); err != nil {
		t.Errorf("another kind's line: %v", err)
	}
}

// seeded are random bytes that differ from case to case.
func seeded(n byte) (b [24]byte) {
	for i := range b {
		b[i] = n*31 + byte(i)
	}
	return b
}

func TestInvitations(t *testing.T) {
	const now = int64(1_000_000)
	v := NewInvitations()
	i := v.Invite(seeded(1), Crew, logbook.Named("lead's"), now)
	if i.Until != now+10*60*1000 {
		t.Errorf("it lasts %d ms, ten minutes are wanted", i.Until-now)
	}
	if len(i.Token) != 22 { // 128 bits in signs of 6: RFC 4648 section 5
		t.Errorf("token %q", i.Token)
	}
	ticket, err := v.Find(i.Token, "", "a", now)
	if err != nil || ticket.Role != Crew || ticket.By != logbook.Named("lead's") {
		t.Fatalf("by token: %+v %v", ticket, err)
	}
	// As a person types it: Crockford's Base 32 reads o as 0, i and l as 1, small
	// letters as large ones, and passes over dashes.
	typed := strings.NewReplacer("0", "o", "1", "l", " ", " - ").Replace(strings.ToLower(i.Code))
	again, err := v.Find("", typed, "a", now)
	if err != nil {
		t.Fatalf("by code, typed %q: %v", typed, err)
	}
	if !v.Use(ticket) || v.Use(again) || v.Use(ticket) {
		t.Error("an invitation is good for one phone")
	}
	if _, err := v.Find(i.Token, "", "a", now); err != ErrNoInvitation {
		t.Errorf("used: %v", err)
	}
	late := v.Invite(seeded(2), Crew, logbook.ID{}, now)
	if _, err := v.Find(late.Token, "", "a", late.Until-1); err != nil {
		t.Errorf("a moment before its end: %v", err)
	}
	if _, err := v.Find(late.Token, "", "a", late.Until); err != ErrNoInvitation {
		t.Errorf("at its end: %v", err)
	}
	if _, err := v.Find("", "", "a", now); err == nil {
		t.Error("nothing at all is an invitation")
	}
}

func TestGuesses(t *testing.T) {
	now := int64(1_000_000)
	v := NewInvitations()
	i := v.Invite(seeded(3), Lead, logbook.ID{}, now)
	wrong := "0000 0000"
	for n := range 5 {
		if _, err := v.Find("", wrong, "x", now); err != ErrNoInvitation {
			t.Fatalf("guess %d: %v", n, err)
		}
	}
	if _, err := v.Find("", i.Code, "x", now); err != ErrSlow {
		t.Errorf("an address that guessed five times wrongly may go on, with the right code: %v", err)
	}
	if _, err := v.Find("", i.Code, "y", now); err != nil {
		t.Errorf("another address suffers for it: %v", err)
	}
	if _, err := v.Find("", i.Code, "x", now+guessSpan); err != ErrNoInvitation { // over as well
		t.Errorf("later: %v", err)
	}
	// Twenty wrong ones from many addresses: the code dies, the picture does not.
	i = v.Invite(seeded(4), Lead, logbook.ID{}, now)
	for n := range 20 {
		if _, err := v.Find("", wrong, string(rune('a'+n)), now); err == nil {
			t.Fatal("a wrong code is taken")
		}
	}
	if _, err := v.Find("", i.Code, "z", now); err != ErrGuessed {
		t.Errorf("the right code after twenty wrong ones: %v", err)
	}
	if _, err := v.Find(i.Token, "", "z", now); err != nil {
		t.Errorf("the picture after twenty wrong codes: %v", err)
	}
	// 20 tries at 32 codes open at once, of 32^8 = 2^40.
	if chance := 20 * 32 / math.Pow(32, 8); chance > 1e-9 {
		t.Errorf("a guesser's chance is %g", chance)
	}
}

func TestPasses(t *testing.T) {
	now := int64(1_000_000)
	p := NewPasses()
	a, b := logbook.Named("a"), logbook.Named("b")
	word := p.Give([16]byte{1}, a, now)
	if id, ok := p.Holder(word, now); !ok || id != a {
		t.Errorf("its holder: %v %v", id, ok)
	}
	for _, bad := range []string{"", a.String(), a.String() + ".", word[:len(word)-1], word + "A", b.String() + word[36:]} {
		if _, ok := p.Holder(bad, now); ok {
			t.Errorf("%q is a pass", bad)
		}
	}
	if _, ok := p.Holder(word, now+12*3600_000); ok {
		t.Error("a pass outlives the day")
	}
	for n := range byte(8) {
		p.Give([16]byte{2, n}, a, now)
	}
	if _, ok := p.Holder(word, now); ok {
		t.Error("a phone's ninth pass leaves its first")
	}
	word = p.Give([16]byte{3}, a, now)
	p.Forget(a)
	if _, ok := p.Holder(word, now); ok {
		t.Error("a pass outlives its phone")
	}
}

// FuzzRoll: whatever a body holds, it is refused or read, and nothing else.
func FuzzRoll(f *testing.F) {
	kind, body := Added(Device{ID: logbook.Named("x"), Key: make([]byte, 65), Name: "n", Role: Crew})
	f.Add(kind, body)
	kind, body = Taken(logbook.Named("x"), logbook.ID{})
	f.Add(kind, body)
	f.Fuzz(func(t *testing.T, kind string, body []byte) {
		r := NewRoll()
		if err := r.Add(kind, body, 1, true); err != nil && len(r.Devices()) > 0 {
			t.Error("a line that is refused changed the roll")
		}
	})
}
