package app_test

import (
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestPeopleAndDevicesAreFound finds a person by initials and name and a
// device by its mark, and turns it out.
func TestPeopleAndDevicesAreFound(t *testing.T) {
	onBoth(t, func(b *bench) {
		mo := must(b.AddPerson(b.ctx, app.NewPerson{Name: "Mo Reed", Initials: "MO", Role: "hand"}))(b)
		for _, who := range []string{"mo", " MO ", "mo reed"} {
			if p := must(b.PersonCalled(b.ctx, who))(b); p.ID != mo.ID {
				t.Errorf("%q is %v", who, p)
			}
		}
		if _, err := b.PersonCalled(b.ctx, "m"); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("half of the initials: %v", err)
		}
		secret := must(b.Pair(b.ctx, must(b.Invite(b.ctx, mo.ID))(b).Code, "Firefox on Android"))(b)
		other := must(b.Pair(b.ctx, must(b.Invite(b.ctx, mo.ID))(b).Code, "Chrome on Android"))(b)
		devices := must(b.People(b.ctx))(b).Devices
		if len(devices) != 2 || devices[0].Mark() == devices[1].Mark() {
			t.Fatalf("devices %v", devices)
		}
		for _, d := range devices {
			found := must(b.DeviceMarked(b.ctx, d.Mark()))(b)
			if found.ID != d.ID {
				t.Errorf("%q is %v", d.Mark(), found)
			}
			if d.Name == "Firefox on Android" {
				if err := b.TurnOut(b.ctx, found.ID); err != nil {
					t.Error(err)
				}
			}
		}
		if _, err := b.Admit(b.ctx, secret); !lab.IsKind(err, lab.Refused) {
			t.Errorf("the one that was turned out: %v", err)
		}
		if g := must(b.Admit(b.ctx, other))(b); g.By != "MO" || g.Role != lab.Hand {
			t.Errorf("the other is %+v", g)
		}
	})
}
