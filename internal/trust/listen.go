package trust

import (
	"crypto/tls"
	"errors"
	"net"
	"sync"
	"time"
)

// patience is how long a phone may be silent after it connected.
const patience = 10 * time.Second

// firstOfTLS is the first byte of a handshake. Source: RFC 8446, 5.1, content
// type handshake.
const firstOfTLS = 22

// Split returns a listener on which those who speak TLS and those who do not
// are both understood: one port has one address, which old labels hold with
// http:// and new ones with https://. Its connections are *tls.Conn or not.
func Split(l net.Listener, config *tls.Config) net.Listener {
	s := &splitter{Listener: l, config: config, conns: make(chan net.Conn), ended: make(chan struct{})}
	go s.take()
	return s
}

type splitter struct {
	net.Listener
	config *tls.Config
	conns  chan net.Conn
	ended  chan struct{} // closed after err was set
	err    error
	once   sync.Once
}

// take looks at the first byte of each connection, beside the others.
func (s *splitter) take() {
	for {
		c, err := s.Listener.Accept()
		if err != nil {
			var passing net.Error
			if errors.As(err, &passing) && passing.Timeout() {
				continue
			}
			s.end(err)
			return
		}
		go s.sort(c)
	}
}

func (s *splitter) end(err error) {
	s.once.Do(func() { s.err = err; close(s.ended) })
}

func (s *splitter) sort(c net.Conn) {
	first := make([]byte, 1)
	if err := c.SetReadDeadline(time.Now().Add(patience)); err != nil {
		c.Close()
		return
	}
	if n, err := c.Read(first); n == 0 || err != nil {
		c.Close()
		return
	}
	if err := c.SetReadDeadline(time.Time{}); err != nil {
		c.Close()
		return
	}
	var out net.Conn = &begun{Conn: c, first: first}
	if first[0] == firstOfTLS {
		out = tls.Server(out, s.config)
	}
	select {
	case s.conns <- out:
	case <-s.ended:
		c.Close()
	}
}

func (s *splitter) Accept() (net.Conn, error) {
	select {
	case c := <-s.conns:
		return c, nil
	case <-s.ended:
		return nil, s.err
	}
}

func (s *splitter) Close() error {
	err := s.Listener.Close()
	s.end(net.ErrClosed)
	return err
}

// begun is a connection of which the first byte was read.
type begun struct {
	net.Conn
	first []byte
}

func (b *begun) Read(p []byte) (int, error) {
	if len(b.first) > 0 && len(p) > 0 {
		n := copy(p, b.first)
		b.first = b.first[n:]
		return n, nil
	}
	return b.Conn.Read(p)
}
