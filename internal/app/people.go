package app

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// How long what lets somebody in is good.
const (
	DeviceStay  = 30 * 24 * time.Hour
	PairingStay = 10 * time.Minute
)

// usedStep is how exactly the last use of a device is known: it is written
// down no more often.
const usedStep = 12 * time.Hour

// Caller is who makes a request.
type Caller struct {
	Device lab.DeviceID
	Role   lab.Role
	By     string // initials; "" for an owner who came by the passphrase
}

// hashOf is what is stored of a secret. Those of devices, tokens and the feed
// have 130 bits of chance and more, and need no slow hash; those of pairings
// live for minutes.
func hashOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// PeopleView is who may come in, and from where.
type PeopleView struct {
	People  []lab.Person
	Devices []DeviceView // those that may still come in
}

// DeviceView is a device with the name of its person.
type DeviceView struct {
	lab.Device
	Who string // "the owner, by the passphrase", or the person's name
}

// Mark tells the device from others where a command names it: the end of its
// identifier, which is chance.
func (d DeviceView) Mark() string {
	const letters = 8
	return string(d.ID[max(0, len(d.ID)-letters):])
}

// People returns who may come in, and from where.
func (f *Farm) People(ctx context.Context) (PeopleView, error) {
	var v PeopleView
	err := f.store.Read(ctx, func(r store.Reader) error {
		var err error
		if v.People, err = r.People(ctx); err != nil {
			return err
		}
		names := make(map[lab.PersonID]string)
		for _, p := range v.People {
			names[p.ID] = p.Name
		}
		devices, err := r.Devices(ctx)
		for _, d := range devices {
			if !d.Good(f.now()) {
				continue
			}
			who := names[d.Person]
			if d.Person == "" {
				who = "the owner, by the passphrase"
			}
			v.Devices = append(v.Devices, DeviceView{d, who})
		}
		return err
	})
	return v, err
}

// PersonCalled returns the person with those initials or that name.
func (f *Farm) PersonCalled(ctx context.Context, who string) (lab.Person, error) {
	v, err := f.People(ctx)
	if err != nil {
		return lab.Person{}, err
	}
	for _, p := range v.People {
		if strings.EqualFold(p.Initials, strings.TrimSpace(who)) || lab.NameKey(p.Name) == lab.NameKey(who) {
			return p, nil
		}
	}
	return lab.Person{}, lab.NotFoundf("see pinset person list", "nobody is called %q or signs so", figure.Clip(who, 40))
}

// DeviceMarked returns the device with that mark, of those that may come in.
func (f *Farm) DeviceMarked(ctx context.Context, mark string) (DeviceView, error) {
	v, err := f.People(ctx)
	if err != nil {
		return DeviceView{}, err
	}
	for _, d := range v.Devices {
		if strings.EqualFold(d.Mark(), strings.TrimSpace(mark)) {
			return d, nil
		}
	}
	return DeviceView{}, lab.NotFoundf("see pinset device list", "no device %q may come in", figure.Clip(mark, 40))
}

// NewPerson is a person as typed.
type NewPerson struct{ Name, Initials, Role string }

// AddPerson writes a person down. They come in once a device is paired.
func (f *Farm) AddPerson(ctx context.Context, n NewPerson) (lab.Person, error) {
	p, err := lab.Person{Name: n.Name, Initials: n.Initials, Role: lab.Role(n.Role)}.Check()
	if err != nil {
		return lab.Person{}, err
	}
	p.ID, p.Since = newID[lab.PersonID](), f.clock()
	return p, f.store.Write(ctx, func(w store.Writer) error { return w.AddPerson(ctx, p) })
}

// SetRole changes what a person may do, from their next request on. The role
// "" lets them in no more and turns out their devices.
func (f *Farm) SetRole(ctx context.Context, id lab.PersonID, role lab.Role) (lab.Person, error) {
	var p lab.Person
	err := f.store.Write(ctx, func(w store.Writer) error {
		var err error
		if p, err = w.Person(ctx, id); err != nil {
			return err
		}
		if role == "" {
			p.Left = f.clock()
			if err := f.turnOut(ctx, w, func(d lab.Device) bool { return d.Person == id }); err != nil {
				return err
			}
			return w.SetPerson(ctx, p)
		}
		p.Role, p.Left = role, time.Time{}
		if p, err = p.Check(); err != nil {
			return err
		}
		return w.SetPerson(ctx, p)
	})
	return p, err
}

// Pairing is a code that lets one device in.
type Pairing struct {
	Code   string
	Person lab.Person
	Until  time.Time
}

// Invite makes a code that lets one device in as a person, once, for
// PairingStay. The code is nowhere stored: it can be shown this once.
func (f *Farm) Invite(ctx context.Context, id lab.PersonID) (Pairing, error) {
	code, err := newPairingCode()
	if err != nil {
		return Pairing{}, err
	}
	p := Pairing{Code: code, Until: f.clock().Add(PairingStay)}
	err = f.store.Write(ctx, func(w store.Writer) error {
		var err error
		if p.Person, err = w.Person(ctx, id); err != nil {
			return err
		}
		if !p.Person.Left.IsZero() {
			return lab.Conflictf("give them a role first", "%s may not come in", p.Person.Name)
		}
		return w.AddPairing(ctx, lab.Pairing{ID: newID[lab.PairingID](), Key: hashOf(code), Person: id, Until: p.Until})
	})
	return p, err
}

// newPairingCode draws a code from the machine's own chance. 256 is no
// multiple of the letters: bytes that would favour some are drawn again.
func newPairingCode() (string, error) {
	const fair = 256 / len(lab.CodeAlphabet) * len(lab.CodeAlphabet)
	code := make([]byte, 0, lab.PairingLength)
	for b := make([]byte, 1); len(code) < lab.PairingLength; {
		if _, err := rand.Read(b); err != nil {
			return "", fmt.Errorf("draw a pairing code: %w", err)
		}
		if int(b[0]) < fair {
			code = append(code, lab.CodeAlphabet[int(b[0])%len(lab.CodeAlphabet)])
		}
	}
	return string(code), nil
}

// Pair lets the device called name in by a pairing code and returns the
// secret that it keeps. A code that was used, ran out or never was is
// Refused, in the same words.
func (f *Farm) Pair(ctx context.Context, typed, name string) (secret string, err error) {
	code, err := lab.ParsePairing(typed)
	if err != nil {
		return "", err
	}
	bad := &lab.Problem{Kind: lab.Invalid, Field: "code", What: "this code lets nobody in: it was used, or ran out, or never was", Mend: "ask the owner for a new one"}
	err = f.store.Write(ctx, func(w store.Writer) error {
		p, err := w.PairingByKey(ctx, hashOf(code))
		if lab.IsKind(err, lab.NotFound) {
			return bad
		}
		if err != nil {
			return err
		}
		person, err := w.Person(ctx, p.Person)
		if err != nil {
			return err
		}
		if !p.Used.IsZero() || !f.now().Before(p.Until) || !person.Left.IsZero() {
			return bad
		}
		p.Used = f.clock()
		if err := w.SetPairing(ctx, p); err != nil {
			return err
		}
		secret, err = f.addDevice(ctx, w, p.Person, name)
		return err
	})
	return secret, err
}

// LetIn lets the device called name in as the owner, after the passphrase.
func (f *Farm) LetIn(ctx context.Context, name string) (secret string, err error) {
	err = f.store.Write(ctx, func(w store.Writer) error {
		secret, err = f.addDevice(ctx, w, "", name)
		return err
	})
	return secret, err
}

func (f *Farm) addDevice(ctx context.Context, w store.Writer, person lab.PersonID, name string) (string, error) {
	name, err := lab.Name("device", name)
	if err != nil {
		return "", err
	}
	secret, now := rand.Text(), f.clock()
	d := lab.Device{ID: newID[lab.DeviceID](), Key: hashOf(secret), Person: person, Name: name, Paired: now, Used: now, Until: now.Add(DeviceStay)}
	return secret, w.AddDevice(ctx, d)
}

// Admit returns who holds the secret. A secret that lets nobody in is
// Refused.
func (f *Farm) Admit(ctx context.Context, secret string) (Caller, error) {
	var d lab.Device
	g := Caller{Role: lab.Owner}
	out := &lab.Problem{Kind: lab.Refused, What: "this device is not let in", Mend: "open the door again"}
	err := f.store.Read(ctx, func(r store.Reader) error {
		var err error
		d, err = r.DeviceByKey(ctx, hashOf(secret))
		if lab.IsKind(err, lab.NotFound) || err == nil && !d.Good(f.now()) {
			return out
		}
		if err != nil || d.Person == "" {
			return err
		}
		p, err := r.Person(ctx, d.Person)
		if err == nil && !p.Left.IsZero() {
			return out
		}
		g.Role, g.By = p.Role, p.Initials
		return err
	})
	if err != nil {
		return Caller{}, err
	}
	g.Device = d.ID
	if f.now().Sub(d.Used) < usedStep {
		return g, nil
	}
	return g, f.store.Write(ctx, func(w store.Writer) error {
		fresh, err := w.Device(ctx, d.ID) // it may have been turned out since
		if err != nil {
			return err
		}
		fresh.Used = f.clock()
		return w.SetDevices(ctx, []lab.Device{fresh})
	})
}

// TurnOut ends what lets a device in, at once.
func (f *Farm) TurnOut(ctx context.Context, id lab.DeviceID) error {
	return f.store.Write(ctx, func(w store.Writer) error {
		if _, err := w.Device(ctx, id); err != nil {
			return err
		}
		return f.turnOut(ctx, w, func(d lab.Device) bool { return d.ID == id })
	})
}

// TurnOutAll turns out every device but one.
func (f *Farm) TurnOutAll(ctx context.Context, but lab.DeviceID) error {
	return f.store.Write(ctx, func(w store.Writer) error {
		return f.turnOut(ctx, w, func(d lab.Device) bool { return d.ID != but })
	})
}

func (f *Farm) turnOut(ctx context.Context, w store.Writer, which func(lab.Device) bool) error {
	all, err := w.Devices(ctx)
	if err != nil {
		return err
	}
	var out []lab.Device
	for _, d := range all {
		if which(d) && d.Good(f.now()) {
			d.Out = f.clock()
			out = append(out, d)
		}
	}
	return w.SetDevices(ctx, out)
}
