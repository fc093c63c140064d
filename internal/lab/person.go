package lab

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pinset/internal/figure"
)

// The identifiers of those who come in. They are UUIDv7 too.
type (
	PersonID  string
	DeviceID  string
	PairingID string
)

// Role is what a person may do. Each may do what the ones after it may.
type Role string

// The roles.
const (
	Owner  Role = "owner"  // changes the farm itself and says who may come in
	Hand   Role = "hand"   // enters what was done and seen
	Viewer Role = "viewer" // reads
)

// Roles lists the roles, the one that may do most first.
var Roles = []Role{Owner, Hand, Viewer}

// May reports whether r may do what needs at least the role least. An unknown
// role may do nothing, and nobody may do what needs an unknown one.
func (r Role) May(least Role) bool {
	return r.rank() > 0 && least.rank() > 0 && r.rank() >= least.rank()
}

func (r Role) rank() int {
	switch r {
	case Owner:
		return 3
	case Hand:
		return 2
	case Viewer:
		return 1
	}
	return 0
}

// Person is one who may come in from a device of their own.
type Person struct {
	ID       PersonID
	Name     string
	Initials string // stand beside what they enter; nobody else's are the same
	Role     Role
	Since    time.Time // UTC
	Left     time.Time // UTC; zero while they may come in
}

// maxInitials bounds initials, in runes. They stand in narrow columns.
const maxInitials = 6

// Check returns p with its texts tidied, or an Invalid Problem.
func (p Person) Check() (Person, error) {
	var err error
	if p.Name, err = Name("person", p.Name); err != nil {
		return Person{}, err
	}
	if p.Initials, err = ParseInitials(p.Initials); err != nil {
		return Person{}, err
	}
	if p.Role.rank() == 0 {
		return Person{}, Invalidf("role", "choose owner, hand or viewer", "%q is not a role", figure.Clip(string(p.Role), 20))
	}
	return p, nil
}

// ParseInitials reads initials as typed: 1 to 6 letters or digits, in upper
// case. Otherwise the error is an Invalid Problem.
func ParseInitials(s string) (string, error) {
	s = strings.ToUpper(strings.TrimSpace(s))
	plain := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
	if n := utf8.RuneCountInString(s); n == 0 || n > maxInitials || strings.ContainsFunc(s, func(r rune) bool { return !plain(r) }) {
		return "", Invalidf("initials", "write one to six letters or digits, such as MO", "%q are no initials", figure.Clip(s, 20))
	}
	return s, nil
}

// Device is one browser that was let in.
type Device struct {
	ID     DeviceID
	Key    string   // SHA-256 of the secret that the browser keeps, in hexadecimal
	Person PersonID // "" for one that was let in by the passphrase
	Name   string   // what it says it is, such as "Chrome on Android"
	Paired time.Time
	Used   time.Time // last, to within hours
	Until  time.Time // no longer good from then on
	Out    time.Time // zero unless it was turned out before
}

// Good reports whether d may still come in at now.
func (d Device) Good(now time.Time) bool { return d.Out.IsZero() && now.Before(d.Until) }

// Pairing lets one device in as one person, once, for minutes.
type Pairing struct {
	ID     PairingID
	Key    string // SHA-256 of its code, in hexadecimal
	Person PersonID
	Until  time.Time
	Used   time.Time // zero while it was not
}

// PairingLength is how many characters of CodeAlphabet a pairing code has:
// 28¹⁰, 48 bits, against a few hundred tries while it is good.
const PairingLength = 10

// ParsePairing reads a pairing code as typed, as forgiving as ParseCode.
func ParsePairing(s string) (string, error) {
	c := codeForgives.Replace(strings.ToUpper(strings.TrimSpace(s)))
	foreign := func(r rune) bool { return !strings.ContainsRune(CodeAlphabet, r) }
	if len(c) != PairingLength || strings.ContainsFunc(c, foreign) {
		return "", Invalidf("code", "read it off the owner's screen again", "that is not a pairing code: those have %d characters", PairingLength)
	}
	return c, nil
}
