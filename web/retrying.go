package web

import (
	"errors"
	"log/slog"
	"net"
	"sync"
	"time"
)

// retrying is a listener that goes on when a connection cannot be accepted: with no file
// left to open, or when the one who came has hung up already. Whoever comes waits in the
// system's line meanwhile. Only a closed listener ends.
type retrying struct {
	net.Listener
	log    *slog.Logger
	closed chan struct{}
	once   sync.Once
	since  int // connections accepted since the last warning
}

func newRetrying(ln net.Listener, log *slog.Logger) *retrying {
	return &retrying{Listener: ln, log: log, closed: make(chan struct{}), since: warnAgain}
}

const (
	acceptAgain = 100 * time.Millisecond // how long it waits before it tries again
	warnAgain   = 1000                   // connections between two warnings, so that no flood fills the log
)

// Accept gives the next connection. It fails with net.ErrClosed, once the listener is
// closed, and with nothing else. One at a time may call it.
func (r *retrying) Accept() (net.Conn, error) {
	for {
		conn, err := r.Listener.Accept()
		if err == nil || errors.Is(err, net.ErrClosed) {
			r.since++
			return conn, err
		}
		if r.since >= warnAgain {
			r.since = 0
			r.log.Warn("no connection can be accepted; tried again until it can", "err", err)
		}
		select {
		case <-r.closed:
			return nil, net.ErrClosed
		case <-time.After(acceptAgain):
		}
	}
}

// Close ends it. It fails as the listener does.
func (r *retrying) Close() error {
	r.once.Do(func() { close(r.closed) })
	return r.Listener.Close()
}
