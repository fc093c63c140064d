package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var people = &table[lab.Person]{
	name: "person",
	columns: func(p *lab.Person) []column {
		return []column{
			text("id", &p.ID), text("name", &p.Name), nameKey(&p.Name), text("initials", &p.Initials), text("role", &p.Role),
			moment("since", &p.Since), moment("gone", &p.Left),
		}
	},
	taken: func(_ context.Context, _ *tx, p lab.Person) error {
		return lab.Conflictf("choose others; entries must say which of two people made them", "somebody is called %s or signs with %s already", p.Name, p.Initials)
	},
}

var devices = &table[lab.Device]{
	name: "device",
	columns: func(d *lab.Device) []column {
		return []column{
			text("id", &d.ID), text("secret_hash", &d.Key), ref("person", &d.Person), text("name", &d.Name),
			moment("paired", &d.Paired), moment("used", &d.Used), moment("until", &d.Until), moment("turned_out", &d.Out),
		}
	},
}

var pairings = &table[lab.Pairing]{
	name: "pairing",
	columns: func(p *lab.Pairing) []column {
		return []column{text("id", &p.ID), text("code_hash", &p.Key), text("person", &p.Person), moment("until", &p.Until), moment("used", &p.Used)}
	},
}

const seePeople = "look at the list of people"

func (t *tx) People(ctx context.Context) ([]lab.Person, error) {
	return query(ctx, t, people, "ORDER BY name_key")
}

func (t *tx) Person(ctx context.Context, id lab.PersonID) (lab.Person, error) {
	return one(ctx, t, people, notFound(seePeople, "there is no person %s", id), "WHERE id = $1", string(id))
}

func (t *tx) AddPerson(ctx context.Context, p lab.Person) error { return add(ctx, t, people, p) }

func (t *tx) SetPerson(ctx context.Context, p lab.Person) error {
	absent := func(p lab.Person) error { return notFound(seePeople, "there is no person %s", p.ID) }
	return change(ctx, t, people, absent, []lab.Person{p})
}

func (t *tx) Devices(ctx context.Context) ([]lab.Device, error) {
	return query(ctx, t, devices, "ORDER BY seq DESC")
}

func (t *tx) Device(ctx context.Context, id lab.DeviceID) (lab.Device, error) {
	return one(ctx, t, devices, notFound(seePeople, "there is no device %s", id), "WHERE id = $1", string(id))
}

func (t *tx) DeviceByKey(ctx context.Context, key string) (lab.Device, error) {
	return one(ctx, t, devices, notFound(seePeople, "this device was not let in"), "WHERE secret_hash = $1", key)
}

func (t *tx) AddDevice(ctx context.Context, d lab.Device) error { return add(ctx, t, devices, d) }

func (t *tx) SetDevices(ctx context.Context, d []lab.Device) error {
	absent := func(d lab.Device) error { return notFound(seePeople, "there is no device %s", d.ID) }
	return change(ctx, t, devices, absent, d)
}

func (t *tx) PairingByKey(ctx context.Context, key string) (lab.Pairing, error) {
	absent := notFound("ask the owner for a new one", "there is no such pairing code")
	return one(ctx, t, pairings, absent, "WHERE code_hash = $1", key)
}

func (t *tx) AddPairing(ctx context.Context, p lab.Pairing) error { return add(ctx, t, pairings, p) }

func (t *tx) SetPairing(ctx context.Context, p lab.Pairing) error {
	absent := func(p lab.Pairing) error { return notFound(seePeople, "there is no pairing %s", p.ID) }
	return change(ctx, t, pairings, absent, []lab.Pairing{p})
}
