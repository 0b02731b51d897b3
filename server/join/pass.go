package join

import (
	"crypto/sha256"
	"encoding/base64"

	"bayhold/sync/logbook"
)

const (
	passLasts   = 12 * 3600_000 // ms: a working day; each new socket brings another
	passesOfOne = 8             // of one phone: the tabs of a browser, and sockets that broke
)

// Passes are what phones ask over HTTP with. They are kept as hashes, in memory
// only. It is not safe for use from several goroutines at once.
type Passes struct {
	of map[logbook.ID][]pass
}

type pass struct {
	sum   [32]byte
	until int64
}

// NewPasses has given none.
func NewPasses() *Passes { return &Passes{of: map[logbook.ID][]pass{}} }

// Give makes a pass of 16 random bytes for a phone that has just proven itself.
// The phone's oldest goes if it has many.
func (p *Passes) Give(random [16]byte, device logbook.ID, now int64) string {
	word := device.String() + "." + base64.RawURLEncoding.EncodeToString(random[:])
	list := p.of[device]
	if len(list) == passesOfOne {
		list = list[1:]
	}
	p.of[device] = append(list[:len(list):len(list)], pass{sha256.Sum256([]byte(word)), now + passLasts})
	return word
}

// Holder is the phone that a pass was given to. The pass names it, so that only
// that phone's are looked at; hashes are compared, so how long that takes tells
// nothing of the pass.
func (p *Passes) Holder(word string, now int64) (device logbook.ID, ok bool) {
	if len(word) < 36 {
		return logbook.ID{}, false
	}
	if device, ok = logbook.ParseID(word[:36]); !ok {
		return logbook.ID{}, false
	}
	sum := sha256.Sum256([]byte(word))
	for _, q := range p.of[device] {
		if q.sum == sum && now < q.until {
			return device, true
		}
	}
	return logbook.ID{}, false
}

// Forget takes back every pass of a phone.
func (p *Passes) Forget(device logbook.ID) { delete(p.of, device) }
