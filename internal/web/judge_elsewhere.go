package web

import (
	"net/http"
	"strings"

	"pinset/internal/app"
	"pinset/internal/datapackage"
	"pinset/internal/lab"
)

// elsewherePage lists the trials that were taken in from elsewhere, and takes
// others in.
type elsewherePage struct {
	frame
	Form   form
	Typed  form // figures from print
	Guests []lab.Guest
}

func (elsewherePage) template() string { return "judge/elsewhere" }

// getElsewhere serves GET /elsewhere.
func (s *server) getElsewhere(w http.ResponseWriter, r *http.Request) error {
	return s.showElsewhere(w, r, http.StatusOK, form{}, form{})
}

func (s *server) showElsewhere(w http.ResponseWriter, r *http.Request, status int, sent, typed form) error {
	guests, err := s.farm.Guests(r.Context())
	if err != nil {
		return err
	}
	typed.prefix = "t-"
	return s.show(w, r, status, &elsewherePage{frame{Title: "Trials from elsewhere", Section: "/trials"}, sent, typed, guests})
}

// postElsewhere serves POST /elsewhere: takes a package in.
func (s *server) postElsewhere(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	_, body, err := uploaded(r)
	var p *app.Package
	if err == nil {
		p, err = datapackage.FromZip(body)
	}
	var in app.TakenIn
	if err == nil {
		in, err = s.farm.TakePackage(r.Context(), act(r), p, strings.TrimSpace(f.Get("source")))
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showElsewhere(w, r, http.StatusUnprocessableEntity, f, form{})
	}
	return s.afterTaking(w, r, in)
}

func (s *server) afterTaking(w http.ResponseWriter, r *http.Request, in app.TakenIn) error {
	deed := in.Deed
	if in.Repeat {
		deed = ""
	}
	remember(w, r, deed, strings.TrimSuffix(in.Says(), "."))
	return seeOther(w, r, at("elsewhere", in.Guest.Hash[:shortHash]))
}

// shortHash is how much of a hash stands in addresses.
const shortHash = 12

// postPrinted serves POST /elsewhere/printed: keeps figures from print.
func (s *server) postPrinted(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	arm := func(which string) app.PrintedArm {
		return app.PrintedArm{Jars: f.Get(which + "_jars"), Mean: f.Get(which + "_mean"), SD: f.Get(which + "_sd"), Did: f.Get(which + "_did")}
	}
	in, err := s.farm.TypeGuest(r.Context(), act(r), app.PrintedInput{
		Name: f.Get("name"), Source: f.Get("source"), Is: f.Get("is"), This: f.Get("this"), Than: f.Get("than"), Outcome: f.Get("outcome"),
		Estimate: f.Get("estimate"), SE: f.Get("se"), Low: f.Get("low"), High: f.Get("high"), ThisArm: arm("this"), ThanArm: arm("than"),
	})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showElsewhere(w, r, http.StatusUnprocessableEntity, form{}, f)
	}
	return s.afterTaking(w, r, in)
}

// Path is the address of a guest.
func (p *elsewherePage) Path(g lab.Guest) string { return at("elsewhere", g.Hash[:shortHash]) }

// IsField asks what differs.
func (p *elsewherePage) IsField() field {
	x := p.Typed.Field("is", "They differ in")
	for _, f := range lab.Factors {
		x.Options = append(x.Options, choice{string(f), string(f), string(f) == x.Value})
	}
	return x
}

// OutcomeField asks what was counted.
func (p *elsewherePage) OutcomeField() field {
	x := p.Typed.Field("outcome", "What was counted")
	for _, o := range lab.Outcomes {
		if o != lab.ByColour {
			x.Options = append(x.Options, choice{o, lab.OutcomeWords(o), o == x.Value})
		}
	}
	return x
}

// TypedAny reports whether figures from print were sent and can be mended.
func (p *elsewherePage) TypedAny() bool { return p.Typed.Wrong() != nil }

// ByArms reports whether what is wrong is in the figures of the arms.
func (p *elsewherePage) ByArms() bool {
	x := p.Typed.Wrong()
	return x != nil && (strings.HasPrefix(x.Field, "this_") || strings.HasPrefix(x.Field, "than_"))
}

// guestPage shows one trial from elsewhere: what it says, and where it is from.
type guestPage struct {
	frame
	lab.Guest
	Form  form
	Names []guestName
}

// guestName is a thing that it compares, with a field for what that is here.
type guestName struct {
	Is    string
	Field field
}

func (guestPage) template() string { return "judge/guest" }

// getGuest serves GET /elsewhere/{guest}.
func (s *server) getGuest(w http.ResponseWriter, r *http.Request) error {
	return s.showGuest(w, r, http.StatusOK, form{})
}

func (s *server) showGuest(w http.ResponseWriter, r *http.Request, status int, f form) error {
	g, err := s.farm.Guest(r.Context(), r.PathValue("guest"))
	if err != nil {
		return err
	}
	p := &guestPage{frame: frame{Title: capital(g.Name), Section: "/trials"}, Guest: g, Form: f}
	seen := make(map[string]bool)
	for _, c := range g.Contrasts {
		for _, side := range c.Sides {
			for _, name := range []string{side.This, side.Than} {
				if seen[lab.NameKey(name)] {
					continue
				}
				seen[lab.NameKey(name)] = true
				x := f.Field("as", name)
				x.ID = "as-" + string(rune('a'+len(p.Names)%26))
				x.Value = ""
				p.Names = append(p.Names, guestName{string(side.Is), x})
			}
		}
	}
	return s.show(w, r, status, p)
}

// postGuestAside serves POST /elsewhere/{guest}/aside.
func (s *server) postGuestAside(w http.ResponseWriter, r *http.Request) error {
	done, err := s.farm.SetGuestAside(r.Context(), act(r), r.PathValue("guest"))
	if err != nil {
		return err
	}
	remember(w, r, done.Deed, sentence(done.What))
	return seeOther(w, r, "/elsewhere")
}

// postGuestNames serves POST /elsewhere/{guest}/names: what its things are here.
func (s *server) postGuestNames(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	called := make(map[string]string)
	theirs, ours := f.All("theirs"), f.All("as")
	for i := range min(len(theirs), len(ours)) {
		called[theirs[i]] = strings.TrimSpace(ours[i])
	}
	done, err := s.farm.CallGuest(r.Context(), act(r), r.PathValue("guest"), called)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showGuest(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, sentence(done.What))
	return seeOther(w, r, at("elsewhere", r.PathValue("guest")))
}

// Path is the address of the guest.
func (p *guestPage) Path() string { return at("elsewhere", p.Hash[:shortHash]) }

// Printed reports whether it is figures from print.
func (p *guestPage) Printed() bool { return p.Kind == lab.FromPrint }

// Words says what an outcome is.
func (p *guestPage) Words(outcome string) string { return lab.OutcomeWords(outcome) }

// Figure is the figure of a contrast, or why there is none.
func (p *guestPage) Figure(c lab.Contrast) string { return app.ContrastFigure(c) }
