package web

import (
	"errors"
	"log/slog"
	"net"
	"strings"
	"testing"
)

// scarce is a listener that fails before it gives each connection.
type scarce struct {
	net.Listener
	failed bool
}

func (s *scarce) Accept() (net.Conn, error) {
	if s.failed = !s.failed; s.failed {
		return nil, errors.New("too many open files")
	}
	return nil, nil
}

func (s *scarce) Close() error { return nil }

func TestPatient(t *testing.T) {
	var said strings.Builder
	p := newRetrying(&scarce{}, slog.New(slog.NewTextHandler(&said, nil)))
	for range 3 {
		if _, err := p.Accept(); err != nil {
			t.Fatal(err)
		}
	}
	if n := strings.Count(said.String(), "too many open files"); n != 1 {
		t.Errorf("it says %d times that it waits:\n%s", n, said.String())
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Accept(); !errors.Is(err, net.ErrClosed) {
		t.Errorf("closed, and waiting: %v", err)
	}
}
