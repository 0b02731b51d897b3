package join

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"strings"

	"bayhold/sync/logbook"
)

// How long and how often. The chance that a code of 32^8 is guessed in
// codeGuesses tries is below one in fifty thousand million.
const (
	InvitationLasts = 10 * 60_000 // ms
	codeLength      = 8
	codeGuesses     = 20 // wrong ones, by whomever, until open codes die
	guessesFrom     = 5  // wrong ones from one address within guessSpan
	guessSpan       = 10 * 60_000
	maxOpen         = 32 // invitations at a time
)

// alphabet is that of Crockford's Base 32: no I, L, O or U, so that no two
// signs look alike; what is typed for them is read as 1, 1 and 0.
const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// Invitation is what a lead shows. Neither form of it is kept by the shop.
type Invitation struct {
	Token string // 22 signs of base64url: 128 bits
	Code  string // eight signs, a space in the middle
	Until int64  // ms
}

// open is an invitation as the shop keeps it.
type open struct {
	token, code [32]byte // SHA-256
	dead        bool     // the code was guessed at too often
	wrong       int
	role        Role
	by, person  logbook.ID
	until       int64
}

// Invitations are those that are open. They are in memory only: a server that
// starts again has none. It is not safe for use from several goroutines at once.
type Invitations struct {
	open    []*open
	guesses map[string][]int64 // when an address guessed wrongly
}

// NewInvitations has none open.
func NewInvitations() *Invitations { return &Invitations{guesses: map[string][]int64{}} }

// What a phone that may not join is told.
var (
	ErrNoInvitation = errors.New("This invitation is over or was used. Ask the lead for another.")
	ErrGuessed      = errors.New("Too many wrong codes. Ask the lead for another, or scan the picture.")
	ErrSlow         = errors.New("Too many wrong codes from here. Wait ten minutes, or scan the picture.")
)

// Invite opens an invitation, with 24 random bytes. The oldest goes if there are
// too many.
func (v *Invitations) Invite(random [24]byte, role Role, by logbook.ID, now int64) Invitation {
	return v.InviteFor(random, role, by, logbook.ID{}, now)
}

// InviteFor is Invite for a person, who is tapped on the phone when it has joined.
func (v *Invitations) InviteFor(random [24]byte, role Role, by, person logbook.ID, now int64) Invitation {
	v.sweep(now)
	token := base64.RawURLEncoding.EncodeToString(random[:16])
	code := make([]byte, codeLength)
	for i, b := range random[16:] {
		code[i] = alphabet[b&31]
	}
	if len(v.open) == maxOpen {
		v.open = v.open[1:]
	}
	v.open = append(v.open, &open{token: sha256.Sum256([]byte(token)), code: sha256.Sum256(code), role: role, by: by, person: person, until: now + InvitationLasts})
	return Invitation{Token: token, Code: string(code[:4]) + " " + string(code[4:]), Until: now + InvitationLasts}
}

// Ticket is an invitation that was found, to be used once.
type Ticket struct {
	Role   Role
	By     logbook.ID
	Person logbook.ID // whose phone it will be; zero: nobody's alone
	open   *open
}

func (o *open) ticket() Ticket { return Ticket{o.role, o.by, o.person, o} }

// Find answers the invitation of a token or a code, given from an address. It
// stays open until Use.
func (v *Invitations) Find(token, code, address string, now int64) (Ticket, error) {
	v.sweep(now)
	if token != "" {
		sum := sha256.Sum256([]byte(token))
		for _, o := range v.open {
			if subtle.ConstantTimeCompare(sum[:], o.token[:]) == 1 {
				return o.ticket(), nil
			}
		}
		return Ticket{}, ErrNoInvitation
	}
	if len(v.guesses[address]) >= guessesFrom {
		return Ticket{}, ErrSlow
	}
	sum := sha256.Sum256([]byte(plainCode(code)))
	var found *open
	dead := false
	for _, o := range v.open {
		if subtle.ConstantTimeCompare(sum[:], o.code[:]) == 1 {
			found = o
		}
		dead = dead || o.dead
	}
	if found != nil && !found.dead {
		return found.ticket(), nil
	}
	v.guesses[address] = append(v.guesses[address], now)
	for _, o := range v.open {
		if o.wrong++; o.wrong >= codeGuesses {
			o.dead = true
		}
	}
	if dead {
		return Ticket{}, ErrGuessed
	}
	return Ticket{}, ErrNoInvitation
}

// Use closes an invitation; false if another phone was quicker.
func (v *Invitations) Use(t Ticket) bool {
	for i, o := range v.open {
		if o == t.open {
			v.open = append(v.open[:i:i], v.open[i+1:]...)
			return true
		}
	}
	return false
}

// sweep forgets what is over, so that memory is bounded by what is recent.
func (v *Invitations) sweep(now int64) {
	left := v.open[:0:0]
	for _, o := range v.open {
		if now < o.until {
			left = append(left, o)
		}
	}
	v.open = left
	for address, at := range v.guesses {
		for len(at) > 0 && at[0] <= now-guessSpan {
			at = at[1:]
		}
		if v.guesses[address] = at; len(at) == 0 {
			delete(v.guesses, address)
		}
	}
}

// plainCode is a code as it was typed: small letters, spaces, dashes and signs
// that look alike are taken.
func plainCode(typed string) string {
	return strings.Map(func(c rune) rune {
		switch c {
		case ' ', '-':
			return -1
		case 'O':
			return '0'
		case 'I', 'L':
			return '1'
		}
		return c
	}, strings.ToUpper(typed))
}
