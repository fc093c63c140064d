package browsertest

import (
	"context"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestPagesOfTheDoor looks at the pages that no farm without a door shows, in
// all themes, on both screens.
func TestPagesOfTheDoor(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	must[lab.Person](t)(x.farm.AddPerson(context.Background(), app.NewPerson{Name: "Mo Reed", Initials: "MO", Role: "hand"}))
	house, _ := x.behindADoor(t)
	b := newTabIn(t, houseBrowser, house, phone)
	both := func(what string) {
		t.Helper()
		for _, s := range []screen{phone, desk} {
			b.show(s)
			b.look(s.name+" "+what, b.path())
		}
		b.show(phone)
	}
	b.open("/pair")
	both("pair")
	b.open("/login")
	both("login")
	b.quiet("the door")
	b.fill("Passphrase", "wrong, and long enough")
	b.follow("Open", 403)
	both("login refused")
	b.fill("Passphrase", passphrase)
	b.follow("Open", 200)
	b.open("/people")
	both("people")
	b.follow("Let a phone in as Mo Reed", 200)
	both("invite")
}

// TestPassphraseIsShown reads a passphrase over before it is sent, and finds
// it hidden again in what the browser keeps.
func TestPassphraseIsShown(t *testing.T) {
	t.Parallel()
	house, _ := newSite(t).behindADoor(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/login")
	b.fill("Passphrase", passphrase)
	kind := func() string { return evaluated[string](b, "document.getElementById('f-passphrase').type") }
	if kind() != "password" {
		t.Errorf("at first the field is %s", kind())
	}
	b.tick("Show what is typed")
	if kind() != "text" {
		t.Errorf("shown, the field is %s", kind())
	}
	b.follow("Open", 200)
	if evaluated[bool](b, "JSON.stringify({...sessionStorage, ...localStorage}).includes('oak and barley')") {
		t.Error("the passphrase stays in the browser")
	}
}
