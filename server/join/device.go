package join

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"errors"
	"math/big"
	"slices"
	"strings"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Role is what a phone may be used for. Who is tapped on it has the rights of
// their own role, and on a crew phone none of a lead's.
type Role string

// The roles of phones.
const (
	Lead Role = "lead" // the lead's own: acts of a lead count from here
	Crew Role = "crew" // shared, or a hand's own
)

// Known says whether a role is one of these.
func (r Role) Known() bool { return r == Lead || r == Crew }

// Device is a phone that joined the shop.
type Device struct {
	ID      logbook.ID
	Key     []byte // public, uncompressed point (SEC 1 section 2.3.3): 65 bytes
	Name    string
	Role    Role
	Invited logbook.ID // the phone that showed the invitation; zero: the server's terminal
	Salt    []byte     // 16 random bytes: a name is personal

	Joined  int64 // ms, by the receipt of its line
	Revoked int64 // ms; 0: it is one of the shop's
	Again   bool  // it joined before a backup was restored, and has to join again
}

// The kinds of lines that the server alone writes. A phone carries them as
// lines of a kind that it does not know.
const (
	kindAdd    = "device.add"
	kindRevoke = "device.revoke"
	kindWriter = "device.writer"
	kindPIN    = "device.pin"
	kindAgain  = "device.again"
)

// Reserved says whether lines of a kind are the server's alone.
func Reserved(kind string) bool { return strings.HasPrefix(kind, "device.") }

// Added is the line that makes a phone one of the shop's.
func Added(d Device) (kind string, body []byte) {
	b := cbor.AppendMap(nil, 6)
	b = cbor.AppendBytes(cbor.AppendText(b, "key"), d.Key)
	b = cbor.AppendText(cbor.AppendText(b, "name"), d.Name)
	b = cbor.AppendText(cbor.AppendText(b, "role"), string(d.Role))
	b = cbor.AppendBytes(cbor.AppendText(b, "salt"), d.Salt)
	b = cbor.AppendText(cbor.AppendText(b, "device"), d.ID.String())
	b = cbor.AppendText(cbor.AppendText(b, "invited"), d.Invited.String())
	return kindAdd, b
}

// Taken is the line that takes a phone off, by a phone of the lead's; zero: at
// the server's terminal.
func Taken(device, by logbook.ID) (kind string, body []byte) {
	return kindRevoke, pair("by", by, "device", device)
}

// Joined is the line that says that a phone joined again, by the invitation that
// a phone of the lead's showed, or the terminal, after a backup was restored.
func Joined(device, by logbook.ID) (kind string, body []byte) {
	return kindAgain, pair("by", by, "device", device)
}

// Writes is the line that says under which name a phone writes. A phone takes
// another name when it finds that a copy of itself is writing.
func Writes(device, writer logbook.ID) (kind string, body []byte) {
	return kindWriter, pair("device", device, "writer", writer)
}

// Opened is the line that says that a lead's PIN was typed on a phone, and until
// when (ms) what that person writes on it counts as a lead's. So it is on record
// which of a lead's lines were by PIN, and on which phone.
func Opened(device, person logbook.ID, until int64) (kind string, body []byte) {
	b := cbor.AppendMap(nil, 3)
	b = cbor.AppendInt(cbor.AppendText(b, "until"), until)
	b = cbor.AppendText(cbor.AppendText(b, "device"), device.String())
	b = cbor.AppendText(cbor.AppendText(b, "person"), person.String())
	return kindPIN, b
}

// pair is a map of two ids; the keys come in their encoded order.
func pair(k1 string, v1 logbook.ID, k2 string, v2 logbook.ID) []byte {
	b := cbor.AppendMap(nil, 2)
	b = cbor.AppendText(cbor.AppendText(b, k1), v1.String())
	return cbor.AppendText(cbor.AppendText(b, k2), v2.String())
}

// Roll is who belongs to the shop, as its logbook tells. It is not safe for use
// from several goroutines at once.
type Roll struct {
	devices map[logbook.ID]*Device
	writers map[logbook.ID]logbook.ID // the phone that writes under a name
	opened  map[logbook.ID][]Allowance
}

// Allowance is a time in which a lead's acts count from a phone of the crew's.
type Allowance struct {
	Person      logbook.ID
	From, Until int64 // ms, by the receipt of its line and as it says
}

const opensKept = 8 // allowances of a phone that are remembered, the last ones

// NewRoll is the roll of a shop that no phone has joined.
func NewRoll() *Roll {
	return &Roll{devices: map[logbook.ID]*Device{}, writers: map[logbook.ID]logbook.ID{}, opened: map[logbook.ID][]Allowance{}}
}

// Add takes a line of the shop's logbook that arrived at a moment. Lines of
// other kinds are passed over. The first line about a phone or a name holds:
// nobody takes over what another has.
//
// anew says that the server wrote the line under the name that it has now. A
// restore gives it another one: what let a phone in before may have been undone
// in what the backup lacks. So that phone is told nothing and nothing of it is
// taken, until it has joined again; whatever lines come back do not do that.
func (r *Roll) Add(kind string, body []byte, arrived int64, anew bool) error {
	if !Reserved(kind) {
		return nil
	}
	f, err := read(body)
	if err != nil {
		return errors.New(kind + ": " + err.Error())
	}
	switch kind {
	case kindAdd:
		if _, err := publicKey(f.Key); err != nil {
			return errors.New(kind + ": " + err.Error())
		}
		if r.devices[f.ID] == nil {
			d := f.Device
			d.Joined, d.Again = arrived, !anew
			r.devices[d.ID] = &d
		}
	case kindRevoke:
		if d := r.devices[f.ID]; d != nil && d.Revoked == 0 {
			d.Revoked = arrived
		}
	case kindAgain:
		if d := r.devices[f.ID]; d != nil && anew {
			d.Again = false
		}
	case kindWriter:
		if _, taken := r.writers[f.writer]; !taken {
			r.writers[f.writer] = f.ID
		}
	case kindPIN:
		list := append(r.opened[f.ID], Allowance{f.person, arrived, min(f.until, arrived+AllowanceLasts)})
		r.opened[f.ID] = list[max(0, len(list)-opensKept):]
	}
	return nil
}

type fields struct {
	Device
	writer logbook.ID
	person logbook.ID
	until  int64
}

func read(body []byte) (f fields, err error) {
	r := cbor.NewReader(body)
	for n := r.Map(); n > 0 && r.Err() == nil; n-- {
		switch r.Text() {
		case "key":
			f.Key = slices.Clone(r.Bytes())
		case "name":
			f.Name = r.Text()
		case "role":
			f.Role = Role(r.Text())
		case "salt":
			f.Salt = slices.Clone(r.Bytes())
		case "device":
			f.ID = readID(r)
		case "invited":
			f.Invited = readID(r)
		case "writer":
			f.writer = readID(r)
		case "person":
			f.person = readID(r)
		case "until":
			f.until = r.Int()
		default:
			r.Skip() // of a newer version
		}
	}
	if f.ID.IsZero() {
		r.Fail("it names no phone")
	}
	return f, r.Close()
}

func readID(r *cbor.Reader) logbook.ID {
	id, ok := logbook.ParseID(r.Text())
	if !ok {
		r.Fail("an id is a UUID")
	}
	return id
}

// Device finds a phone; ok is false if none of this id ever joined.
func (r *Roll) Device(id logbook.ID) (d Device, ok bool) {
	if p := r.devices[id]; p != nil {
		return *p, true
	}
	return Device{}, false
}

// Writer is the phone that writes under a name; ok is false if nobody does yet.
func (r *Roll) Writer(name logbook.ID) (device logbook.ID, ok bool) {
	device, ok = r.writers[name]
	return device, ok
}

// Opens lists when leads' PINs were typed on a phone lately, the last at the end.
func (r *Roll) Opens(device logbook.ID) []Allowance { return slices.Clone(r.opened[device]) }

// Allowed says whether what a person writes on a phone counts as a lead's at a
// moment, because the PIN was typed there.
func (r *Roll) Allowed(device, person logbook.ID, at int64) bool {
	return slices.ContainsFunc(r.opened[device], func(a Allowance) bool {
		return a.Person == person && a.From <= at && at < a.Until
	})
}

// Devices lists every phone that ever joined, the last first.
func (r *Roll) Devices() []Device {
	out := make([]Device, 0, len(r.devices))
	for _, d := range r.devices {
		out = append(out, *d)
	}
	slices.SortFunc(out, func(a, b Device) int {
		if a.Joined != b.Joined {
			return int(min(1, max(-1, b.Joined-a.Joined)))
		}
		return a.ID.Compare(b.ID)
	})
	return out
}

// Led says whether some phone of a lead's belongs to the shop.
func (r *Roll) Led() bool {
	for _, d := range r.devices {
		if d.Role == Lead && d.Revoked == 0 && !d.Again {
			return true
		}
	}
	return false
}

// Holder finds the phone with a public key. One that joined after a backup was
// made and, the backup restored, joined once more is there twice when its first
// line comes back: the later one is it.
func (r *Roll) Holder(key []byte) (d Device, ok bool) {
	for _, one := range r.devices {
		if string(one.Key) == string(key) && (!ok || d.Again) {
			d, ok = *one, true
		}
	}
	return d, ok
}

// publicKey reads a point; ParseUncompressedPublicKey refuses one that is not
// on the curve.
func publicKey(point []byte) (*ecdsa.PublicKey, error) {
	key, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), point)
	if err != nil {
		return nil, errors.New("the key is no point of P-256")
	}
	return key, nil
}

// Said is what a phone signs: what this is for, the origin that its page came
// from, its own id, and the shop's nonce, as written in base64url. Each ends
// with a line feed, which none of them holds.
func Said(origin string, device logbook.ID, nonce string) []byte {
	return []byte("bayhold proof 1\n" + origin + "\n" + device.String() + "\n" + nonce + "\n")
}

// Proves says whether a signature is the phone's: r and s, 32 bytes each (IEEE
// P1363, as the Web Cryptography API writes them), over SHA-256.
func (d *Device) Proves(said, signature []byte) bool {
	key, err := publicKey(d.Key)
	if err != nil || len(signature) != 64 {
		return false
	}
	sum := sha256.Sum256(said)
	r, s := new(big.Int).SetBytes(signature[:32]), new(big.Int).SetBytes(signature[32:])
	return ecdsa.Verify(key, sum[:], r, s)
}
