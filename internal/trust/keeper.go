package trust

import (
	"crypto/ecdsa"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// Options say for whom a Keeper vouches.
type Options struct {
	Dir  string // its folder, made if it is not there
	Farm string // stands in the name that a phone shows
	// Hosts returns the names and addresses by which this machine is reached.
	// It may be asked again at any handshake.
	Hosts func() []string
	Now   func() time.Time // nil is the machine's clock
}

// Keeper holds a farm's authority and the certificate of its server.
type Keeper struct {
	o         Options
	authority pair

	mu     sync.Mutex
	server pair
	asked  time.Time // when Hosts were last asked for a name that was not known
}

// The files of a folder. Each holds a certificate and its key.
const (
	authorityFile = "authority.pem"
	serverFile    = "server.pem"
)

// Open reads the folder, and makes what is not there yet. A certificate of
// the server that runs out soon, or lacks a host, is made anew. It fails if
// the authority ran out, may not vouch for a host, or if others can read a key.
func Open(o Options) (*Keeper, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if err := os.MkdirAll(o.Dir, 0o700); err != nil {
		return nil, err
	}
	k := &Keeper{o: o}
	var err error
	k.authority, err = read(k.path(authorityFile))
	if errors.Is(err, fs.ErrNotExist) {
		if k.authority, err = newAuthority(o.Farm, o.Hosts(), o.Now()); err == nil {
			err = write(k.path(authorityFile), k.authority)
		}
	}
	if err != nil {
		return nil, err
	}
	if !o.Now().Before(k.authority.cert.NotAfter) {
		return nil, fmt.Errorf("the authority in %s ran out on %s: move the folder away, and let each phone trust the new one", o.Dir, k.authority.cert.NotAfter.Format("2 January 2006"))
	}
	if k.server, err = read(k.path(serverFile)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return k, k.renew(o.Hosts())
}

func (k *Keeper) path(name string) string { return filepath.Join(k.o.Dir, name) }

// Root is the certificate of the authority, in DER. It holds no secret.
func (k *Keeper) Root() []byte { return k.authority.cert.Raw }

// renew makes the server's certificate anew unless it is good for hosts.
func (k *Keeper) renew(hosts []string) error {
	now := k.o.Now()
	hosts = append([]string{"localhost", "127.0.0.1", "::1"}, hosts...)
	if k.server.cert != nil && k.server.cert.CheckSignatureFrom(k.authority.cert) == nil && k.server.covers(hosts, now) {
		return nil
	}
	slices.Sort(hosts)
	server, err := k.authority.issue(slices.Compact(hosts), now)
	if err != nil {
		return err
	}
	k.server = server
	return write(k.path(serverFile), server)
}

// Certificate returns what a phone is shown. One that runs out soon, or does
// not name what the phone asked for, is made anew: an address of this machine
// may have changed since it was started.
func (k *Keeper) Certificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	now := k.o.Now()
	if !k.server.covers(reachedBy(hello), now) && now.Sub(k.asked) >= time.Minute {
		k.asked = now
		if err := k.renew(k.o.Hosts()); err != nil && !now.Before(k.server.cert.NotAfter) {
			return nil, err
		}
	}
	return k.server.forTLS(k.authority), nil
}

// reachedBy is the name that the phone asked for, or else the address.
func reachedBy(hello *tls.ClientHelloInfo) []string {
	if hello.ServerName != "" {
		return []string{hello.ServerName}
	}
	if hello.Conn == nil {
		return nil
	}
	host, _, err := net.SplitHostPort(hello.Conn.LocalAddr().String())
	if err != nil {
		return nil
	}
	return []string{host}
}

// TLS is how a server speaks with k's certificate. Source of the least
// version: OWASP ASVS 4.0.3, 9.1.3.
func (k *Keeper) TLS() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: k.Certificate, NextProtos: []string{"http/1.1"}}
}

// write keeps p in a file that its owner alone can read, whole or not at all.
func write(path string, p pair) error {
	key, err := x509.MarshalPKCS8PrivateKey(p.key)
	if err != nil {
		return err
	}
	text := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: p.cert.Raw})
	text = append(text, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: key})...)
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*") // made with 0600
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// read returns what write wrote. A key that others can read is refused.
func read(path string) (pair, error) {
	about, err := os.Stat(path)
	if err != nil {
		return pair{}, err
	}
	if about.Mode().Perm()&0o077 != 0 {
		return pair{}, fmt.Errorf("others than you can read the key in %s: write chmod 600 %s, and if somebody may have, move the folder away and begin anew", path, path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return pair{}, err
	}
	both, err := tls.X509KeyPair(text, text)
	if err != nil {
		return pair{}, fmt.Errorf("%s holds no certificate with its key: %w", path, err)
	}
	key, ok := both.PrivateKey.(*ecdsa.PrivateKey)
	if !ok {
		return pair{}, fmt.Errorf("the key in %s is not one that Pinset made: move the folder away", path)
	}
	return pair{both.Leaf, key}, nil
}

// Fingerprint is the SHA-256 of the authority's certificate, as phones show it.
func (k *Keeper) Fingerprint() string {
	sum := sha256.Sum256(k.Root())
	return strings.ReplaceAll(fmt.Sprintf("% X", sum[:]), " ", ":")
}
