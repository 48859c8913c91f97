package trust

import (
	"bytes"
	"crypto/tls"
	"errors"
	"io"
	"net"
	"sync/atomic"
	"syscall"
)

// handshake begins a TLS record of that kind (RFC 8446, 5.1).
const handshake = 22

// Both is a listener whose connections speak TLS or plain HTTP, as the other side
// begins. It takes a connection at once, whatever comes of it.
func Both(ln net.Listener, h Holder) net.Listener {
	return &port{ln, &tls.Config{
		MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"},
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return h.Certificate() },
	}}
}

type port struct {
	net.Listener
	config *tls.Config
}

// Accept waits for a connection; it fails as the listener does.
func (p *port) Accept() (net.Conn, error) {
	raw, err := p.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return &Conn{Conn: raw, config: p.config}, nil
}

// Conn is a connection that speaks as its first byte says. Deadlines hold for what is
// below TLS, as those of tls.Conn do.
type Conn struct {
	net.Conn // what is below
	config   *tls.Config
	speaks   atomic.Pointer[net.Conn] // nil until something came
}

// Read reads what came. The first to read finds out what is spoken. It fails as the
// connection does; where no TLS comes about, since a device does not trust the server
// yet, that is an end like any other.
func (c *Conn) Read(b []byte) (int, error) {
	over := c.speaks.Load()
	if over == nil {
		n, err := c.Conn.Read(b)
		if n == 0 {
			return n, err
		}
		if b[0] != handshake {
			c.speaks.Store(&c.Conn)
			return n, err
		}
		var secured net.Conn = tls.Server(&begun{c.Conn, bytes.NewReader(bytes.Clone(b[:n]))}, c.config)
		over = &secured
		c.speaks.Store(over)
	}
	n, err := (*over).Read(b)
	if secured, ok := (*over).(*tls.Conn); ok && err != nil && !secured.ConnectionState().HandshakeComplete {
		return n, io.EOF
	}
	return n, err
}

var errSilent = errors.New("nothing was read yet, so what is spoken is not known")

// Write writes as the other side speaks. It fails as the connection does, and where
// the other side said nothing yet.
func (c *Conn) Write(b []byte) (int, error) {
	over := c.speaks.Load()
	if over == nil {
		return 0, errSilent
	}
	return (*over).Write(b)
}

// Close ends the connection; it fails as that does.
func (c *Conn) Close() error {
	if over := c.speaks.Load(); over != nil {
		return (*over).Close()
	}
	return c.Conn.Close()
}

// Encrypted reports whether the connection speaks TLS.
func (c *Conn) Encrypted() bool {
	over := c.speaks.Load()
	if over == nil {
		return false
	}
	_, ok := (*over).(*tls.Conn)
	return ok
}

// SyscallConn is the system's connection below. It fails where there is none.
func (c *Conn) SyscallConn() (syscall.RawConn, error) {
	if below, ok := c.Conn.(syscall.Conn); ok {
		return below.SyscallConn()
	}
	return nil, errors.ErrUnsupported
}

// begun is a connection of which something was read already.
type begun struct {
	net.Conn
	first *bytes.Reader
}

// Read gives what was read first, then what comes. It fails as the connection does.
func (b *begun) Read(p []byte) (int, error) {
	if b.first.Len() > 0 {
		return b.first.Read(p)
	}
	return b.Conn.Read(p)
}
