package web

import "net"

// hungUp cannot be told here without reading.
func hungUp(net.Conn) bool { return false }
