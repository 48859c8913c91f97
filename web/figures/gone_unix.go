//go:build unix

package figures

import (
	"net"
	"syscall"

	"tallywalk/web/ask"
)

// hungUp reports whether the other side of a connection closed it. What it may
// have sent since is left where it is: over TLS that is its close_notify, which
// comes before the end (RFC 8446, 6.1).
func hungUp(conn net.Conn) (gone bool) {
	sc, ok := conn.(syscall.Conn)
	if !ok {
		return false
	}
	raw, err := sc.SyscallConn()
	if err != nil {
		return true // closed here
	}
	err = raw.Control(func(fd uintptr) {
		var b [1]byte
		n, _, err := syscall.Recvfrom(int(fd), b[:], syscall.MSG_PEEK)
		gone = err == nil && (n == 0 || ask.EncryptedConn(conn)) || err == syscall.ECONNRESET ||
			err == syscall.EPIPE
	})
	return gone || err != nil
}
