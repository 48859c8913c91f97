package main

import (
	"fmt"
	"net"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// crowd is what sits on the server's sockets while others scan.
type crowd struct {
	t     *testing.T
	addr  string
	conns []net.Conn
}

// come opens sockets and says the beginning of a request on each, or nothing. It gives
// how many there are: where the server takes no more, the system still may.
func (c *crowd) come(n int, begin string) {
	c.t.Helper()
	for range n {
		conn, err := net.DialTimeout("tcp", c.addr, 10*time.Second)
		if err != nil {
			c.t.Fatal(err)
		}
		c.conns = append(c.conns, conn)
		if _, err := conn.Write([]byte(begin)); err != nil {
			c.t.Fatal(err)
		}
	}
}

func (c *crowd) leave() {
	for _, conn := range c.conns {
		_ = conn.Close() // the server may have hung up before
	}
	c.conns = nil
}

// scans lets each client scan until that many more were acknowledged.
func (k *killer) scans(base string, more int) {
	k.t.Helper()
	k.mu.Lock()
	want := len(k.acked) + more
	k.mu.Unlock()
	var clients sync.WaitGroup
	stop, enough := make(chan struct{}), make(chan struct{})
	for c := range killClients {
		clients.Go(func() { k.client(base, c, stop) })
	}
	go func() {
		defer close(enough)
		for {
			k.mu.Lock()
			n := len(k.acked)
			k.mu.Unlock()
			if n >= want {
				return
			}
			select {
			case <-k.t.Context().Done():
				return
			case <-time.After(10 * time.Millisecond):
			}
		}
	}()
	gone := make(chan struct{})
	go func() { clients.Wait(); close(gone) }()
	select {
	case <-enough:
	case <-gone: // none of them gets an answer any more
	}
	close(stop)
	<-gone
	k.mu.Lock()
	defer k.mu.Unlock()
	if len(k.acked) < want {
		k.t.Fatalf("%d scans were acknowledged, not %d", len(k.acked), want)
	}
}

// limited is a server that may have so many files open.
func (k *killer) limited(files int) *exec.Cmd {
	return exec.Command("sh", "-c", fmt.Sprintf(`ulimit -n %d; exec "$0" "$@"`, files), k.bin, "serve",
		"--data", k.dir, "--listen", "127.0.0.1:0")
}

// ends asks the server to end while clients scan, and waits for it.
func (k *killer) ends(cmd *exec.Cmd, base string) {
	k.t.Helper()
	var clients sync.WaitGroup
	stop := make(chan struct{})
	for c := range killClients {
		clients.Go(func() { k.client(base, c, stop) })
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		k.t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		k.t.Errorf("the server ended with %v", err)
	}
	close(stop)
	clients.Wait()
}

// TestCrowd lets people scan while thousands of sockets say nothing, hundreds say their
// requests so slowly that they never end; then while
// the server has no more files to open, and after; and asks it to end in the middle of
// it. What was acknowledged is there, once.
func TestCrowd(t *testing.T) {
	k := newKiller(t)
	cmd := k.limited(8192)
	base := k.start(cmd)
	c := &crowd{t: t, addr: strings.TrimPrefix(base, "http://")}
	c.come(2000, "")
	c.come(100, "POST /api/v1/scans HTTP/1.1\r\nHost: x\r\nX-Slow: ")
	c.come(100, "POST /api/v1/scans HTTP/1.1\r\nHost: "+c.addr+"\r\nAuthorization: Bearer "+k.tok+
		"\r\nContent-Type: application/json\r\nContent-Length: 4000\r\n\r\n{")
	slow := make(chan struct{})
	done := make(chan struct{})
	go func() { // a byte now and then, so that nothing is ever quite idle
		defer close(done)
		for {
			select {
			case <-slow:
				return
			case <-time.After(200 * time.Millisecond):
			}
			for _, conn := range c.conns[2000:] {
				_, _ = conn.Write([]byte("a")) // the server may have hung up
			}
		}
	}()
	k.scans(base, 300)
	close(slow)
	<-done
	k.ends(cmd, base)
	c.leave()
	k.check()

	cmd = k.limited(96)
	base = k.start(cmd)
	c = &crowd{t: t, addr: strings.TrimPrefix(base, "http://")}
	c.come(200, "")
	c.leave()
	k.scans(base, 100)
	k.ends(cmd, base)
	k.check()
}
