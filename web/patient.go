package web

import (
	"errors"
	"log/slog"
	"net"
	"sync"
	"time"
)

// patient is a listener that goes on when a connection cannot be accepted: with no file
// left to open, or when the one who came has hung up already. Whoever comes waits in the
// system's line meanwhile. Only a closed listener ends.
type patient struct {
	net.Listener
	log    *slog.Logger
	closed chan struct{}
	once   sync.Once
	since  int // connections accepted since the last warning
}

func newPatient(ln net.Listener, log *slog.Logger) *patient {
	return &patient{Listener: ln, log: log, closed: make(chan struct{}), since: warnAgain}
}

const (
	acceptAgain = 100 * time.Millisecond // how long it waits before it tries again
	warnAgain   = 1000                   // connections between two warnings, so that no flood fills the log
)

// Accept gives the next connection. It fails with net.ErrClosed, once the listener is
// closed, and with nothing else. One at a time may call it.
func (p *patient) Accept() (net.Conn, error) {
	for {
		conn, err := p.Listener.Accept()
		if err == nil || errors.Is(err, net.ErrClosed) {
			p.since++
			return conn, err
		}
		if p.since >= warnAgain {
			p.since = 0
			p.log.Warn("no connection can be accepted; tried again until it can", "err", err)
		}
		select {
		case <-p.closed:
			return nil, net.ErrClosed
		case <-time.After(acceptAgain):
		}
	}
}

// Close ends it. It fails as the listener does.
func (p *patient) Close() error {
	p.once.Do(func() { close(p.closed) })
	return p.Listener.Close()
}
