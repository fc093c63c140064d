package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func testPeople(t *testing.T, s store.Store) {
	mo := lab.Person{ID: newID[lab.PersonID](), Name: "Mo", Initials: "MO", Role: lab.Hand, Since: at(1).Time}
	ada := lab.Person{ID: newID[lab.PersonID](), Name: "ada", Initials: "AB", Role: lab.Owner, Since: at(2).Time}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddPerson(ctx, mo), w.AddPerson(ctx, ada), w.AddPerson(ctx, mo))
	})
	all := func(ctx context.Context, r store.Reader) ([]lab.Person, error) { return r.People(ctx) }
	same(t, "people by name", []lab.Person{ada, mo}, read(t, s, all))
	for what, p := range map[string]lab.Person{
		"name":     {ID: newID[lab.PersonID](), Name: "MO", Initials: "M2", Role: lab.Hand},
		"initials": {ID: newID[lab.PersonID](), Name: "Max", Initials: "MO", Role: lab.Hand},
	} {
		err := tryWrite(t, s, func(ctx context.Context, w store.Writer) error { return w.AddPerson(ctx, p) })
		t.Log(what)
		isProblem(t, err, lab.Conflict)
	}
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddPerson(ctx, lab.Person{ID: newID[lab.PersonID](), Name: "Bo", Initials: "BO", Role: "boss"})
	}), lab.Invalid)
	mo.Role, mo.Left = lab.Viewer, at(5).Time
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.SetPerson(ctx, mo) })
	same(t, "person", mo, read(t, s, func(ctx context.Context, r store.Reader) (lab.Person, error) { return r.Person(ctx, mo.ID) }))
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.SetPerson(ctx, lab.Person{ID: newID[lab.PersonID](), Name: "Nobody", Initials: "N", Role: lab.Hand})
	}), lab.NotFound)
}

func testDevices(t *testing.T, s store.Store) {
	mo := lab.Person{ID: newID[lab.PersonID](), Name: "Mo", Initials: "MO", Role: lab.Hand, Since: at(1).Time}
	phone := lab.Device{ID: newID[lab.DeviceID](), Key: "aa", Person: mo.ID, Name: "a phone", Paired: at(1).Time, Used: at(2).Time, Until: at(9).Time}
	desk := lab.Device{ID: newID[lab.DeviceID](), Key: "bb", Name: "a desk", Paired: at(3).Time, Used: at(3).Time, Until: at(9).Time}
	pairing := lab.Pairing{ID: newID[lab.PairingID](), Key: "cc", Person: mo.ID, Until: at(2).Time}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddPerson(ctx, mo), w.AddDevice(ctx, phone), w.AddDevice(ctx, desk), w.AddPairing(ctx, pairing))
	})
	all := func(ctx context.Context, r store.Reader) ([]lab.Device, error) { return r.Devices(ctx) }
	same(t, "devices, newest first", []lab.Device{desk, phone}, read(t, s, all))
	phone.Out, desk.Used, pairing.Used = at(4).Time, at(5).Time, at(1).Time
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.SetDevices(ctx, []lab.Device{phone, desk}), w.SetDevices(ctx, nil), w.SetPairing(ctx, pairing))
	})
	same(t, "device", desk, read(t, s, func(ctx context.Context, r store.Reader) (lab.Device, error) { return r.Device(ctx, desk.ID) }))
	same(t, "device by key", phone, read(t, s, func(ctx context.Context, r store.Reader) (lab.Device, error) { return r.DeviceByKey(ctx, "aa") }))
	same(t, "pairing by key", pairing, read(t, s, func(ctx context.Context, r store.Reader) (lab.Pairing, error) { return r.PairingByKey(ctx, "cc") }))
	for _, key := range []string{"", "AA", "a%"} {
		_, err := tryRead(t, s, func(ctx context.Context, r store.Reader) (lab.Device, error) { return r.DeviceByKey(ctx, key) })
		isProblem(t, err, lab.NotFound)
		_, err = tryRead(t, s, func(ctx context.Context, r store.Reader) (lab.Pairing, error) { return r.PairingByKey(ctx, key) })
		isProblem(t, err, lab.NotFound)
	}
	// Two of the same key would be one secret for two devices: refused.
	again := lab.Device{ID: newID[lab.DeviceID](), Key: "aa", Name: "another", Until: at(9).Time}
	if err := tryWrite(t, s, func(ctx context.Context, w store.Writer) error { return w.AddDevice(ctx, again) }); err == nil {
		t.Error("a second device has the key of the first")
	}
}
