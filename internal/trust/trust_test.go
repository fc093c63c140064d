package trust

import (
	"bufio"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var spring = time.Date(2026, 3, 9, 9, 0, 0, 0, time.UTC)

// kept opens a keeper for hosts at now.
func kept(t *testing.T, dir string, now time.Time, hosts ...string) *Keeper {
	t.Helper()
	k, err := Open(Options{Dir: dir, Farm: "Test barn", Hosts: func() []string { return hosts }, Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// shown returns the certificate that a phone is shown that asks for host, if
// the phone, which trusts the authority, takes it at now.
func shown(t *testing.T, k *Keeper, host string, now time.Time) (*x509.Certificate, error) {
	t.Helper()
	c, err := k.Certificate(&tls.ClientHelloInfo{ServerName: host})
	if err != nil {
		t.Fatal(err)
	}
	root, err := x509.ParseCertificate(k.Root())
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(root)
	_, err = c.Leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: host, CurrentTime: now})
	return c.Leaf, err
}

func TestTheAuthorityIsKept(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "tls")
	k := kept(t, dir, spring, "192.168.1.20", "barn.home.arpa", "farm.example")
	for _, host := range []string{"192.168.1.20", "barn.home.arpa", "farm.example", "localhost", "127.0.0.1", "::1"} {
		if _, err := shown(t, k, host, spring); err != nil {
			t.Errorf("%s: %v", host, err)
		}
	}
	if _, err := shown(t, k, "other.example", spring); err == nil {
		t.Error("it passes for a name that nobody said")
	}
	again := kept(t, dir, spring.AddDate(0, 1, 0), "192.168.1.20")
	if string(again.Root()) != string(k.Root()) {
		t.Error("the authority was made anew: all phones would have to trust it again")
	}
	if !again.server.cert.Equal(k.server.cert) {
		t.Error("a certificate that is good was made anew")
	}
}

func TestRenewedInTime(t *testing.T) {
	dir := t.TempDir()
	first := kept(t, dir, spring, "192.168.1.20")
	if days := first.server.cert.NotAfter.Sub(first.server.cert.NotBefore).Hours() / 24; days > 825 {
		t.Errorf("good for %.0f days, phones take 825 at most", days)
	}
	now := spring
	k, err := Open(Options{Dir: dir, Hosts: func() []string { return []string{"192.168.1.20"} }, Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	for range 30 { // months of a program that is never started again
		now = now.AddDate(0, 1, 0)
		c, err := shown(t, k, "192.168.1.20", now)
		if err != nil {
			t.Fatalf("%s: %v", now.Format(time.DateOnly), err)
		}
		if left := c.NotAfter.Sub(now); left < renewBefore {
			t.Errorf("%s: shown with %v left", now.Format(time.DateOnly), left)
		}
	}
	if k.server.cert.Equal(first.server.cert) {
		t.Error("it was never renewed")
	}
	if string(k.Root()) != string(first.Root()) {
		t.Error("the authority changed")
	}
}

// TestTheAddressChanged reaches a running keeper by an address that it got
// since.
func TestTheAddressChanged(t *testing.T) {
	hosts, now := []string{"192.168.1.20"}, spring
	k, err := Open(Options{Dir: t.TempDir(), Hosts: func() []string { return hosts }, Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	hosts = []string{"10.0.0.7"}
	if _, err := shown(t, k, "10.0.0.7", now); err != nil {
		t.Error(err)
	}
	if _, err := shown(t, k, "10.0.0.8", now); err == nil {
		t.Error("it passes for an address that is not this machine's")
	}
}

// TestTheAuthorityIsBound signs for a public name with the authority's own
// key, as a thief would: phones do not take it.
func TestTheAuthorityIsBound(t *testing.T) {
	k := kept(t, t.TempDir(), spring, "192.168.1.20")
	for _, host := range []string{"bank.example", "203.0.113.9", "2001:db8::1"} {
		if _, err := k.authority.issue([]string{host}, spring); err == nil {
			t.Errorf("it vouches for %s", host)
		}
	}
	_, err := Open(Options{Dir: k.o.Dir, Hosts: func() []string { return []string{"bank.example"} }, Now: k.o.Now})
	if err == nil || !strings.Contains(err.Error(), "bank.example") {
		t.Errorf("opened for a name beyond its bounds: %v", err)
	}
	root, err := x509.ParseCertificate(k.Root())
	if err != nil || !root.IsCA || !root.MaxPathLenZero || !root.PermittedDNSDomainsCritical {
		t.Errorf("the root: %+v, %v", root, err)
	}
}

func TestKeysAreOursAlone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "tls")
	kept(t, dir, spring)
	files, err := os.ReadDir(dir)
	if err != nil || len(files) != 2 {
		t.Fatalf("%v, %v", files, err)
	}
	for _, f := range files {
		about, err := f.Info()
		if err != nil || about.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", f.Name(), about.Mode(), err)
		}
	}
	if about, err := os.Stat(dir); err != nil || about.Mode().Perm() != 0o700 {
		t.Errorf("the folder: %v, %v", about.Mode(), err)
	}
	for _, name := range []string{authorityFile, serverFile} {
		path := filepath.Join(dir, name)
		if err := os.Chmod(path, 0o640); err != nil {
			t.Fatal(err)
		}
		_, err = Open(Options{Dir: dir, Hosts: func() []string { return nil }})
		if err == nil || !strings.Contains(err.Error(), "chmod 600") {
			t.Errorf("%s can be read by others, and that was taken: %v", name, err)
		}
		if err := os.Chmod(path, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func TestTornAndOldFoldersSaySo(t *testing.T) {
	dir := t.TempDir()
	kept(t, dir, spring)
	_, err := Open(Options{Dir: dir, Hosts: func() []string { return nil }, Now: func() time.Time { return spring.AddDate(11, 0, 0) }})
	if err == nil || !strings.Contains(err.Error(), "ran out") {
		t.Errorf("an authority of eleven years ago: %v", err)
	}
	if err := os.WriteFile(filepath.Join(dir, authorityFile), []byte("nothing"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Open(Options{Dir: dir, Hosts: func() []string { return nil }, Now: func() time.Time { return spring }})
	if err == nil || !strings.Contains(err.Error(), authorityFile) {
		t.Errorf("a torn file: %v", err)
	}
}

// TestOnePortForBoth speaks TLS and plain HTTP to one listener, with a silent
// caller in between.
func TestOnePortForBoth(t *testing.T) {
	k := kept(t, t.TempDir(), time.Now(), "127.0.0.1")
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, r.TLS != nil) })}
	done := make(chan error, 1)
	go func() { done <- server.Serve(Split(l, k.TLS())) }()
	silent, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer silent.Close()
	root, err := x509.ParseCertificate(k.Root())
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(root)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	for scheme, want := range map[string]string{"https": "true", "http": "false"} {
		answer, err := client.Get(scheme + "://" + l.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		if err != nil || string(body) != want {
			t.Errorf("over %s the server sees TLS: %s, %v", scheme, body, err)
		}
	}
	old, err := tls.Dial("tcp", l.Addr().String(), &tls.Config{RootCAs: roots, MaxVersion: tls.VersionTLS11, MinVersion: tls.VersionTLS10})
	if err == nil {
		old.Close()
		t.Error("TLS 1.1 is spoken")
	}
	if err := server.Close(); err != nil {
		t.Error(err)
	}
	if err := <-done; !errors.Is(err, http.ErrServerClosed) {
		t.Error(err)
	}
}

// TestNothingOfTheFirstByteIsLost reads a connection byte by byte.
func TestNothingOfTheFirstByteIsLost(t *testing.T) {
	a, b := net.Pipe()
	go func() { fmt.Fprint(a, "ET / HTTP/1.1\n"); a.Close() }()
	line, err := bufio.NewReaderSize(&begun{Conn: b, first: []byte("G")}, 16).ReadString('\n')
	if err != nil || line != "GET / HTTP/1.1\n" {
		t.Errorf("%q, %v", line, err)
	}
}
