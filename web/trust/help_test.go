package trust

import (
	"context"
	"encoding/pem"
	"net"
)

// spoken is the key of a request's connection.
type spoken struct{}

func withConn(ctx context.Context, c net.Conn) context.Context {
	return context.WithValue(ctx, spoken{}, c)
}

func pemKey(raw []byte) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: raw})
}
