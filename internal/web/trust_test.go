package web

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"fmt"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
)

// anAuthority returns a certificate, in DER. Nothing here checks what it signs.
func anAuthority(t *testing.T) []byte {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: time.Date(2036, 3, 1, 0, 0, 0, 0, time.UTC)}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	return der
}

// asked is one GET as a browser asks for a page, over plain HTTP or TLS.
func asked(target string) *http.Request {
	r := httptest.NewRequest(http.MethodGet, target, nil)
	r.Header.Set("Accept", "text/html,application/xhtml+xml")
	return r
}

// TestTrustPage shows the page without HTTPS, over plain HTTP beside it, and
// over it. Nobody is let in.
func TestTrustPage(t *testing.T) {
	x := newDoorSite(t)
	d := x.get("/trust").status(http.StatusOK).doc()
	d.want("how to begin", tag("code"), says("--tls"))
	d.want("what is missing", tag("li"), says("passphrase"))
	x.get("/trust/pinset.crt").status(http.StatusNotFound)

	der := anAuthority(t)
	y := newSite(t, Options{Listen: "0.0.0.0:8470", Passphrase: passphrase, Authority: der})
	sum := sha256.Sum256(der)
	first := strings.ReplaceAll(fmt.Sprintf("% X", sum[:8]), " ", ":")
	d = y.do(asked("http://127.0.0.1:8470/trust")).status(http.StatusOK).doc()
	d.want("fingerprint", tag("span"), says(first))
	d.want("what is missing", tag("li"), says("A reload finds nothing"))
	d.want("the way on", tag("a"), with("href", "https://127.0.0.1:8470"))
	over := y.do(asked("https://127.0.0.1:8470/trust")).status(http.StatusOK)
	if strings.Contains(over.Body.String(), "A reload finds nothing") {
		t.Error("over HTTPS the page says what plain HTTP lacks")
	}
	a := y.do(asked("http://127.0.0.1:8470/trust/pinset.crt")).status(http.StatusOK)
	if a.Body.String() != string(der) || a.Header().Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("the certificate is %d bytes of %s", a.Body.Len(), a.Header().Get("Content-Type"))
	}
	if _, err := New(nil, Options{Listen: "127.0.0.1:0", Authority: []byte("none")}); err == nil {
		t.Error("what is no certificate is shown as one")
	}
}

// TestPlainLeadsToTLS asks over plain HTTP where HTTPS is spoken: pages lead
// on, programs too, nothing is entered, the passphrase least of all.
func TestPlainLeadsToTLS(t *testing.T) {
	x := newSite(t, Options{Listen: "0.0.0.0:8470", Passphrase: passphrase, Authority: anAuthority(t)})
	d := x.do(asked("http://farm.example/j/K73QF?x=1")).doc()
	if len(d.all(tag("h1"))) != 0 {
		t.Error("a name that nobody said is answered")
	}
	d = x.do(asked("http://192.168.1.20:8470/J/K73QF")).status(http.StatusOK).doc()
	d.want("the way on", tag("a"), with("href", "https://192.168.1.20:8470/J/K73QF"))
	program := httptest.NewRequest(http.MethodGet, "http://192.168.1.20:8470/api/v1/jars/K73QF", nil)
	if a := x.do(program); a.Code != http.StatusPermanentRedirect || a.Header().Get("Location") != "https://192.168.1.20:8470/api/v1/jars/K73QF" {
		t.Errorf("a program gets %d, %s", a.Code, a.Header().Get("Location"))
	}
	a := x.post("/login", url.Values{"passphrase": {passphrase}}).status(http.StatusForbidden)
	if len(a.Result().Cookies()) != 0 || strings.Contains(a.Body.String(), "Not over plain") == false {
		t.Errorf("the passphrase is taken over plain HTTP: %s", a.brief())
	}
}

// TestSecureCookies lets a browser in over TLS: its cookie is bound to TLS
// and this host.
func TestSecureCookies(t *testing.T) {
	x := newSite(t, Options{Listen: "0.0.0.0:8470", Passphrase: passphrase, Authority: anAuthority(t)})
	r := httptest.NewRequest(http.MethodPost, "https://192.168.1.20:8470/login", strings.NewReader(url.Values{"passphrase": {passphrase}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	a := x.do(r)
	if a.Code != http.StatusSeeOther || len(a.Result().Cookies()) == 0 {
		t.Fatalf("not let in: %s", a.brief())
	}
	c := a.Result().Cookies()[0]
	if c.Name != "__Host-pinset_door" || !c.Secure || !c.HttpOnly || c.Path != "/" || c.Domain != "" || c.SameSite != http.SameSiteLaxMode {
		t.Errorf("cookie %+v", c)
	}
}

// TestWhatWaitedComesOver hands over over plain HTTP what a phone kept before
// HTTPS was spoken: its browser keeps the two apart.
func TestWhatWaitedComesOver(t *testing.T) {
	x := newSite(t, Options{Listen: "127.0.0.1:8470"})
	x.stock()
	k := x.batch(4)
	x.grown(k)
	x.options.Authority = anAuthority(t)
	x.restart()
	path := "/batches/" + k.Batch.String() + "/rounds"
	entry := url.Values{"numbers": {"1"}, "see": {"note"}, "note": {"dry at the rim"}, "act": {string(app.NewActID())}}
	x.post(path, entry).status(http.StatusForbidden)
	x.handOver(path, entry).status(http.StatusNoContent)
}
