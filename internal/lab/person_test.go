package lab

import (
	"testing"
	"time"
)

func TestRolesStandAboveEachOther(t *testing.T) {
	for i, r := range Roles {
		for j, least := range Roles {
			if got, want := r.May(least), i <= j; got != want {
				t.Errorf("%s may what needs %s: %v, want %v", r, least, got, want)
			}
		}
		if r.May("") || Role("").May(r) || Role("root").May(r) || r.May("root") {
			t.Errorf("%s and a role that is none", r)
		}
	}
}

func TestPersonCheck(t *testing.T) {
	p, err := Person{Name: "  Mo  Reed ", Initials: " mo ", Role: Hand}.Check()
	if err != nil || p.Name != "Mo Reed" || p.Initials != "MO" {
		t.Errorf("%+v, %v", p, err)
	}
	for field, p := range map[string]Person{
		"person":   {Name: " ", Initials: "MO", Role: Hand},
		"initials": {Name: "Mo", Initials: "", Role: Hand},
		"role":     {Name: "Mo", Initials: "MO", Role: "boss"},
	} {
		_, err := p.Check()
		if q, ok := AsProblem(err); !ok || q.Kind != Invalid || q.Field != field {
			t.Errorf("%+v: %v, want a problem at %s", p, err, field)
		}
	}
	for _, wrong := range []string{"seven77", "M O", "M.O.", "<b>", "M\n"} {
		if got, err := ParseInitials(wrong); err == nil && wrong != "M\n" {
			t.Errorf("ParseInitials(%q) = %q", wrong, got)
		}
	}
}

func TestDeviceIsGood(t *testing.T) {
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	d := Device{Until: now.Add(time.Second)}
	if !d.Good(now) || d.Good(now.Add(time.Second)) {
		t.Error("a device is good until its time, not at it")
	}
	d.Out = now
	if d.Good(now) {
		t.Error("a device that was turned out is good")
	}
}

func FuzzParsePairing(f *testing.F) {
	for _, s := range []string{"23456-789AC", "b3456 789ac", "", "0123456789", "23456789A", "23456789AĈ"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParsePairing(s)
		if err != nil {
			if p, ok := AsProblem(err); !ok || p.Kind != Invalid {
				t.Errorf("ParsePairing(%q): %v is no Invalid Problem", s, err)
			}
			return
		}
		if again, err := ParsePairing(c); err != nil || again != c || len(c) != PairingLength {
			t.Errorf("ParsePairing(%q) = %q, read again %q, %v", s, c, again, err)
		}
	})
}
