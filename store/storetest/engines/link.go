package engines

import (
	"io"
	"net"
	"sync"
)

// link is a cable: what comes in at its own address goes on to another, and back. While it is cut nothing
// passes, no end of a connection either: both ends wait, as they do for a plug that was pulled.
type link struct {
	ln     net.Listener
	target string

	mu     sync.Mutex
	change *sync.Cond
	cut    bool
	closed bool
	conns  map[net.Conn]struct{}
}

// newLink opens a link to an address, which need not answer yet.
func newLink(target string) (*link, error) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	l := &link{ln: ln, target: target, conns: map[net.Conn]struct{}{}}
	l.change = sync.NewCond(&l.mu)
	go l.serve()
	return l, nil
}

func (l *link) address() string { return l.ln.Addr().String() }

func (l *link) serve() {
	for {
		near, err := l.ln.Accept()
		if err != nil {
			return
		}
		go l.join(near)
	}
}

// join carries one connection until either end closes it.
func (l *link) join(near net.Conn) {
	defer l.drop(near)
	if !l.hold(near) || !l.passes() {
		return
	}
	far, err := net.Dial("tcp", l.target)
	if err != nil {
		return
	}
	defer l.drop(far)
	if !l.hold(far) {
		return
	}
	back := make(chan struct{})
	go func() {
		defer close(back)
		l.carry(near, far)
	}()
	l.carry(far, near)
	<-back
}

// carry copies until from ends or the link is closed, and then ends both, since none of what speaks here
// closes one half.
func (l *link) carry(to, from net.Conn) {
	buf := make([]byte, 64<<10)
	for {
		n, err := from.Read(buf)
		if !l.passes() {
			return
		}
		if n > 0 {
			if _, werr := to.Write(buf[:n]); werr != nil {
				err = io.EOF
			}
		}
		if err != nil {
			_, _ = to.Close(), from.Close()
			return
		}
	}
}

// passes waits while the link is cut, and reports whether it is still there.
func (l *link) passes() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	for l.cut && !l.closed {
		l.change.Wait()
	}
	return !l.closed
}

// set cuts the link, or joins it.
func (l *link) set(cut bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.cut = cut
	l.change.Broadcast()
}

func (l *link) hold(c net.Conn) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.closed {
		l.conns[c] = struct{}{}
	}
	return !l.closed
}

func (l *link) drop(c net.Conn) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.conns, c)
	_ = c.Close()
}

// close ends the link and all that it carries.
func (l *link) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	_ = l.ln.Close()
	for c := range l.conns {
		_ = c.Close()
	}
	l.change.Broadcast()
}
