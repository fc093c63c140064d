package web

import (
	"crypto/sha256"
	"crypto/x509"
	"fmt"
	"net/http"
	"strings"
	"time"
)

// authority is the farm's own certificate authority, as phones are shown it.
type authority struct {
	der   []byte
	until time.Time
}

// newAuthority reads the certificate that phones are to trust; nil is none.
func newAuthority(der []byte) (*authority, error) {
	if der == nil {
		return nil, nil
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, fmt.Errorf("web: read the authority: %w", err)
	}
	return &authority{der, cert.NotAfter}, nil
}

// Print is the SHA-256 of the certificate as phones show it, in four lines.
func (a *authority) Print() []string {
	sum := sha256.Sum256(a.der)
	lines := make([]string, 4)
	for i := range lines {
		lines[i] = strings.ReplaceAll(fmt.Sprintf("% X", sum[i*8:i*8+8]), " ", ":")
	}
	return lines
}

// Until is the day on which it runs out.
func (a *authority) Until() string { return a.until.Format("2 January 2006") }

// trustPage says what a phone asks before it speaks HTTPS with this machine,
// and why.
type trustPage struct {
	frame
	Authority *authority // nil: only plain HTTP is spoken
	Secure    bool       // this page came over HTTPS
	Over      string     // address of the pages over HTTPS
	Plain     string     // of this page over plain HTTP
}

func (trustPage) template() string { return "house/trust" }

// getTrust serves GET /trust. Phones ask for it before they are let in.
func (s *server) getTrust(w http.ResponseWriter, r *http.Request) error {
	r, in, err := s.admit(r)
	if err != nil {
		return err
	}
	p := &trustPage{
		frame: frame{Title: "HTTPS, and what a phone asks", Section: "/all", Bare: !in}, Authority: s.authority,
		Secure: r.TLS != nil, Over: "https://" + r.Host, Plain: "http://" + r.Host + "/trust",
	}
	if in {
		return s.show(w, r, http.StatusOK, p)
	}
	s.fillPlain(r, &p.frame)
	p.Did = nil
	return s.write(w, http.StatusOK, p)
}

// getAuthority serves GET /trust/pinset.crt: the certificate that a phone is
// told to trust. It holds no secret.
func (s *server) getAuthority(w http.ResponseWriter, r *http.Request) error {
	if s.authority == nil {
		return notFoundPage(r)
	}
	h := w.Header()
	h.Set("Content-Type", "application/x-x509-ca-cert")
	h.Set("Content-Disposition", `attachment; filename="pinset.crt"`)
	h.Set("Cache-Control", "no-store")
	_, err := w.Write(s.authority.der)
	return err
}

// overPage stands where a page was asked for over plain HTTP and HTTPS is
// spoken too: it hands over what waits on the phone under the old address,
// then leads on.
type overPage struct {
	frame
	To string
}

func (overPage) template() string { return "house/over" }

// onlyTLS lets requests over plain HTTP no further where HTTPS is spoken,
// but for what a phone needs to come over to it.
func (s *server) onlyTLS(next http.Handler) http.Handler {
	if s.authority == nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		path := r.URL.Path
		to := "https://" + r.Host + r.URL.RequestURI()
		reads := r.Method == http.MethodGet || r.Method == http.MethodHead
		switch {
		case r.TLS != nil, path == "/healthz", path == "/lamp", path == "/trust", strings.HasPrefix(path, "/trust/"), strings.HasPrefix(path, "/static/"):
			next.ServeHTTP(w, r)
		case r.Method == http.MethodPost && r.Header.Get(handover) != "": // it was entered before HTTPS was spoken
			next.ServeHTTP(w, r)
		case !reads:
			s.oops(w, r, http.StatusForbidden, "Not over plain HTTP", "what is entered over plain HTTP can be read on the way", "open "+"https://"+r.Host+" and enter it there; nothing was written")
		case strings.Contains(r.Header.Get("Accept"), "text/html"):
			if err := s.showOver(w, r, to); err != nil {
				s.answer(w, r, err)
			}
		default: // a calendar, a program
			http.Redirect(w, r, to, http.StatusPermanentRedirect)
		}
	})
}

func (s *server) showOver(w http.ResponseWriter, r *http.Request, to string) error {
	p := &overPage{frame: frame{Title: "Over to HTTPS", Bare: true}, To: to}
	s.fillPlain(r, &p.frame)
	p.Did = nil
	return s.write(w, http.StatusOK, p)
}
