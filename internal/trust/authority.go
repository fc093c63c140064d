// Package trust lets a farm speak HTTPS in a house where no public authority
// vouches for addresses: it makes an authority of the farm's own, the
// certificate of the server under it, and keeps both in a folder.
//
// The authority is bound by name constraints (RFC 5280, 4.2.1.10) to private
// addresses and the names that were said when it was made, so that whoever
// steals its key can not pass for any other site on a phone that trusts it.
package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"fmt"
	"math/big"
	"net"
	"net/netip"
	"strings"
	"time"
)

// How long certificates are good. Phones refuse one for a server that is good
// for more than 825 days, also below an authority that its user added (from
// memory); a year spares them a new one too often.
const (
	authorityStay = 10 * 365 * 24 * time.Hour
	serverStay    = 397 * 24 * time.Hour
	renewBefore   = 60 * 24 * time.Hour
	skew          = 24 * time.Hour // clocks of phones that were off for long
)

// privateRanges are the addresses that no public site has. Source: RFC 1918,
// RFC 3927, RFC 4193, RFC 4291 and RFC 6598 for their kinds.
var privateRanges = []string{
	"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "100.64.0.0/10", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128",
}

// privateNames are the endings that no public site has. Source: RFC 6762,
// RFC 6761 and RFC 8375; "internal" is reserved by ICANN (2024).
var privateNames = []string{"localhost", "local", "home.arpa", "internal"}

// pair is a certificate and the key that it is for.
type pair struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

// newAuthority makes the authority of a farm. Beyond private addresses and
// names it may vouch for hosts alone.
func newAuthority(farm string, hosts []string, now time.Time) (pair, error) {
	key, serial, err := newKey()
	if err != nil {
		return pair{}, err
	}
	t := &x509.Certificate{
		SerialNumber: serial,
		Subject:      pkix.Name{CommonName: "Pinset, " + short(farm)},
		NotBefore:    now.Add(-skew), NotAfter: now.Add(authorityStay),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         append([]string{}, privateNames...),
	}
	for _, r := range privateRanges {
		_, n, err := net.ParseCIDR(r)
		if err != nil {
			return pair{}, err
		}
		t.PermittedIPRanges = append(t.PermittedIPRanges, n)
	}
	for _, h := range hosts {
		if ip, err := netip.ParseAddr(h); err == nil {
			t.PermittedIPRanges = append(t.PermittedIPRanges, &net.IPNet{IP: ip.AsSlice(), Mask: net.CIDRMask(ip.BitLen(), ip.BitLen())})
		} else {
			t.PermittedDNSDomains = append(t.PermittedDNSDomains, h)
		}
	}
	return signed(t, t, key, key)
}

// issue makes a certificate for a server that is reached by hosts: names and
// addresses. A host that the authority may not vouch for is an error.
func (a pair) issue(hosts []string, now time.Time) (pair, error) {
	key, serial, err := newKey()
	if err != nil {
		return pair{}, err
	}
	t := &x509.Certificate{
		SerialNumber: serial,
		Subject:      pkix.Name{CommonName: "Pinset"},
		NotBefore:    now.Add(-skew), NotAfter: earlier(now.Add(serverStay), a.cert.NotAfter),
		BasicConstraintsValid: true,
		KeyUsage:              x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	for _, h := range hosts {
		if ip := net.ParseIP(h); ip != nil {
			t.IPAddresses = append(t.IPAddresses, ip)
		} else {
			t.DNSNames = append(t.DNSNames, h)
		}
	}
	p, err := signed(t, a.cert, key, a.key)
	if err != nil {
		return pair{}, err
	}
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	if _, err := p.cert.Verify(x509.VerifyOptions{Roots: roots, CurrentTime: now}); err != nil {
		return pair{}, fmt.Errorf("the authority may not vouch for all of %s: %w", strings.Join(hosts, ", "), err)
	}
	return p, nil
}

// covers reports whether p is good for hosts at now, and for a while after.
func (p pair) covers(hosts []string, now time.Time) bool {
	if now.Before(p.cert.NotBefore) || !now.Add(renewBefore).Before(p.cert.NotAfter) {
		return false
	}
	for _, h := range hosts {
		if p.cert.VerifyHostname(h) != nil {
			return false
		}
	}
	return true
}

func (p pair) forTLS(authority pair) *tls.Certificate {
	return &tls.Certificate{Certificate: [][]byte{p.cert.Raw, authority.cert.Raw}, PrivateKey: p.key, Leaf: p.cert}
}

func newKey() (*ecdsa.PrivateKey, *big.Int, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	return key, serial, err
}

func signed(t, parent *x509.Certificate, key, by *ecdsa.PrivateKey) (pair, error) {
	der, err := x509.CreateCertificate(rand.Reader, t, parent, &key.PublicKey, by)
	if err != nil {
		return pair{}, err
	}
	cert, err := x509.ParseCertificate(der)
	return pair{cert, key}, err
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// short returns a name that fits into a certificate: 64 characters at most.
// Source: RFC 5280, appendix A.1, ub-common-name.
func short(farm string) string {
	if farm == "" {
		farm = "a farm"
	}
	r := []rune(farm)
	return string(r[:min(len(r), 50)])
}
