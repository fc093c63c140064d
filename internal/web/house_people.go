package web

import (
	"html/template"
	"net/http"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/label"
)

// peoplePage says who may come in, and from which devices.
type peoplePage struct {
	frame
	app.PeopleView
	Form form
	Mine lab.DeviceID // the device that asks
}

func (peoplePage) template() string { return "house/people" }

// Roles lists what a person may be.
func (peoplePage) Roles() []lab.Role { return lab.Roles }

// getPeople serves GET /people.
func (s *server) getPeople(w http.ResponseWriter, r *http.Request) error {
	return s.showPeople(w, r, http.StatusOK, form{})
}

func (s *server) showPeople(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.People(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, status, &peoplePage{frame{Title: "People and phones", Section: "/all"}, v, f, callerOf(r).Device})
}

// postPeople serves POST /people: writes a person down.
func (s *server) postPeople(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	p, err := s.farm.AddPerson(r.Context(), app.NewPerson{Name: f.Get("person"), Initials: f.Get("initials"), Role: f.Get("role")})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showPeople(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, "", p.Name+" is written down as "+string(p.Role))
	return seeOther(w, r, "/people")
}

// postRole serves POST /people/{person}/role: changes what a person may do.
func (s *server) postRole(w http.ResponseWriter, r *http.Request) error {
	p, err := s.farm.SetRole(r.Context(), lab.PersonID(r.PathValue("person")), lab.Role(r.PostFormValue("role")))
	if err != nil {
		return err
	}
	what := p.Name + " is now " + string(p.Role)
	if !p.Left.IsZero() {
		what = p.Name + " may come in no more"
	}
	remember(w, r, "", what)
	return seeOther(w, r, "/people")
}

// postDeviceOut serves POST /devices/{device}/out.
func (s *server) postDeviceOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.farm.TurnOut(r.Context(), lab.DeviceID(r.PathValue("device"))); err != nil {
		return err
	}
	remember(w, r, "", "That device is turned out")
	return seeOther(w, r, "/people")
}

// postDevicesOut serves POST /devices/out: all but the one that asks.
func (s *server) postDevicesOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.farm.TurnOutAll(r.Context(), callerOf(r).Device); err != nil {
		return err
	}
	remember(w, r, "", "All other devices are turned out")
	return seeOther(w, r, "/people")
}

// invitePage shows a pairing code, this once.
type invitePage struct {
	frame
	app.Pairing
	Address string // of the page that the code is typed into
	Square  template.HTML
	Lone    bool   // Address leads nowhere from another device
	Over    string // plain address, if the phone has to trust an authority first
}

func (invitePage) template() string { return "house/invite" }

// Groups prints the code in two halves.
func (p *invitePage) Groups() string {
	return p.Code[:lab.PairingLength/2] + " " + p.Code[lab.PairingLength/2:]
}

// postInvite serves POST /people/{person}/pair. The page is the answer to a
// post, so that no address leads to it and no cache keeps it. The code stands
// behind a # in the square: browsers send that part to nobody.
func (s *server) postInvite(w http.ResponseWriter, r *http.Request) error {
	if s.door == nil {
		return lab.Conflictf("start Pinset with --listen and a passphrase, as the guide says under phone", "Pinset listens on this machine alone, where nobody is asked")
	}
	invite, err := s.farm.Invite(r.Context(), lab.PersonID(r.PathValue("person")))
	if err != nil {
		return err
	}
	p := &invitePage{frame: frame{Title: "Let a phone in", Section: "/all"}, Pairing: invite}
	if p.Address, p.Lone, err = s.phoneAddress(r); err != nil {
		return err
	}
	q, err := label.NewScreenSquare(p.Address + "/pair#" + invite.Code)
	if err != nil {
		return err
	}
	if s.authority != nil {
		p.Over = "http://" + strings.TrimPrefix(strings.TrimPrefix(p.Address, "https://"), "http://")
	}
	p.Square = drawSquare(q, "Square code that lets one phone in")
	return s.show(w, r, http.StatusOK, p)
}

// phoneAddress is where phones reach the pages: what the farm says, else as
// this browser reached them, else by a number of this machine. lone reports
// that no other device can.
func (s *server) phoneAddress(r *http.Request) (address string, lone bool, err error) {
	kept, err := s.farm.LabelSettings(r.Context())
	if err != nil || kept.Address != "" {
		return kept.Address, false, err
	}
	if o := offers(r); len(o) > 0 {
		return o[0], false, nil
	}
	scheme := "http://"
	if r.TLS != nil {
		scheme = "https://"
	}
	return scheme + r.Host, true, nil
}

// pairPage takes a pairing code.
type pairPage struct {
	frame
	Form form
}

func (pairPage) template() string { return "house/pair" }

// getPair serves GET /pair. A script takes the code from behind the #.
func (s *server) getPair(w http.ResponseWriter, r *http.Request) error {
	return s.showPair(w, r, http.StatusOK, form{})
}

func (s *server) showPair(w http.ResponseWriter, r *http.Request, status int, f form) error {
	p := &pairPage{frame: frame{Title: "Let this phone in"}, Form: f}
	s.fillPlain(r, &p.frame)
	p.Did, p.Bare = nil, true
	return s.write(w, status, p)
}

// postPair serves POST /pair.
func (s *server) postPair(w http.ResponseWriter, r *http.Request) error {
	if s.door == nil {
		return seeOther(w, r, "/")
	}
	f := form{}
	if wait := s.door.mayTry(addressOf(r), s.now()); wait > 0 {
		f.problem = &lab.Problem{Field: "code", What: "too many tries", Mend: retryAfter(w, wait) + ", then try again"}
		return s.showPair(w, r, http.StatusTooManyRequests, f)
	}
	secret, err := s.farm.Pair(r.Context(), r.PostFormValue("code"), deviceName(r))
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		s.door.wrong.take(addressOf(r), s.now())
		return s.showPair(w, r, http.StatusForbidden, f)
	}
	giveSecret(w, r, secret)
	return seeOther(w, r, "/")
}

// deviceName says what the browser is, for the list of devices: it is a help
// to memory and proves nothing.
func deviceName(r *http.Request) string {
	agent := r.UserAgent()
	system := firstOf(agent, "another system", "Android", "iPhone", "iPad", "Windows", "Macintosh", "CrOS", "Linux")
	return firstOf(agent, "a browser", "Firefox", "Edg", "Chrome", "Safari") + " on " + system
}

// firstOf returns the first of words that is in s, else otherwise.
func firstOf(s, otherwise string, words ...string) string {
	for _, w := range words {
		if strings.Contains(s, w) {
			return w
		}
	}
	return otherwise
}
