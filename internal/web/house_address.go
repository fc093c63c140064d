package web

import (
	"html/template"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/label"
)

// addressPage explains and keeps the address that labels hold.
type addressPage struct {
	frame
	Form   form
	Kept   app.Address
	Offers []string // addresses by which this machine may be reached
	Square template.HTML
}

func (addressPage) template() string { return "house/address" }

// getAddress serves GET /address.
func (s *server) getAddress(w http.ResponseWriter, r *http.Request) error {
	return s.showAddress(w, r, http.StatusOK, form{})
}

func (s *server) showAddress(w http.ResponseWriter, r *http.Request, status int, f form) error {
	keep, err := s.farm.LabelSettings(r.Context())
	if err != nil {
		return err
	}
	p := &addressPage{frame: frame{Title: "The farm’s address", Section: "/all"}, Form: f, Offers: offers(r)}
	if keep.Address != "" {
		if p.Kept, err = app.ParseAddress(keep.Address); err != nil {
			return err
		}
		if p.Square, err = squareSVG(keep.Address); err != nil {
			return err
		}
	}
	return s.show(w, r, status, p)
}

// postAddress serves POST /address.
func (s *server) postAddress(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	keep, err := s.farm.LabelSettings(r.Context())
	if err != nil {
		return err
	}
	keep.Address = strings.TrimSpace(f.Get("address"))
	if err := s.farm.SaveLabelSettings(r.Context(), keep); err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showAddress(w, r, http.StatusUnprocessableEntity, f)
	}
	what := "The address is kept. Try the square with a phone"
	if keep.Address == "" {
		what = "No address is kept"
	}
	remember(w, r, "", what)
	return seeOther(w, r, "/address")
}

// offers lists the addresses by which other machines may reach these pages:
// the one that r used, then those of this machine with r's port. What only
// this machine can open is left out.
func offers(r *http.Request) []string {
	var out []string
	scheme := "http://"
	if r.TLS != nil {
		scheme = "https://"
	}
	add := func(host string) {
		if a, err := app.ParseAddress(scheme + host); err == nil && !slices.Contains(out, a.Text) {
			out = append(out, a.Text)
		}
	}
	add(r.Host)
	_, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		port = ""
	}
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return out // they are a help only
	}
	for _, a := range addrs {
		p, err := netip.ParsePrefix(a.String())
		if err != nil || !p.Addr().Is4() || p.Addr().IsLinkLocalUnicast() {
			continue
		}
		host := p.Addr().String()
		if port != "" {
			host = net.JoinHostPort(host, port)
		}
		add(host)
	}
	const most = 4
	return out[:min(len(out), most)]
}

// squareSVG draws a QR symbol for the screen, dark on light in every theme.
func squareSVG(text string) (template.HTML, error) {
	q, err := label.NewSquare(strings.ToUpper(text), "M")
	if err != nil {
		return "", err
	}
	return drawSquare(q, "Square code of the farm’s address"), nil
}

// drawSquare draws q, which holds what says tells those who do not see it.
func drawSquare(q label.Square, says string) template.HTML {
	const quiet = 4
	side := strconv.Itoa(q.Side + 2*quiet)
	var b strings.Builder
	b.WriteString(`<svg class="square" viewBox="0 0 ` + side + " " + side + `" role="img" aria-label="` + template.HTMLEscapeString(says) + `"><path class="sq-light" d="M0 0h` + side + "v" + side + "H0z" + `"/><path class="sq-dark" d="`)
	for y := range q.Side {
		for x := range q.Side {
			if q.Dark(x, y) {
				b.WriteString("M" + strconv.Itoa(x+quiet) + " " + strconv.Itoa(y+quiet) + "h1v1h-1z")
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String())
}
