package engine

import (
	"strings"
	"testing"
)

// The names are of no computer (RFC 2606); localhost is this one.
func TestRoutesNameThisNode(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		peers, routes string
		in            bool
	}{
		{"127.0.0.1:6222", "127.0.0.1:6222 b:1 c:1", true},
		{"127.0.0.1:6222", "localhost:6222 b:1 c:1", true},
		{"localhost:6222", "127.0.0.1:6222 b:1 c:1", true},
		{"127.0.0.1:6222", "127.0.0.1:6223 127.0.0.1:6224 127.0.0.1:6225", false},
		{"127.0.0.1:6222", "localhost:6223 b:1 c:1", false},
		{"127.0.0.1:6222", "203.0.113.1:6222 203.0.113.2:6222 203.0.113.3:6222", false},
		{"127.0.0.1:6222", "nowhere.invalid:6222 b:1 c:1", true}, // it may be, once its name is known
		{"0.0.0.0:6222", "127.0.0.1:6222 b:1 c:1", true},
		{":6222", "127.0.0.1:6222 b:1 c:1", true},
		{"0.0.0.0:6222", "203.0.113.1:6222 203.0.113.2:6222 203.0.113.3:6222", false},
	} {
		o := Options{Peers: c.peers}
		for r := range strings.FieldsSeq(c.routes) {
			o.Routes = append(o.Routes, "nats://"+r)
		}
		if err := o.checkRoutes(); (err == nil) != c.in {
			t.Errorf("%s among %s: %v, want it to be in: %v", c.peers, c.routes, err, c.in)
		}
	}
	o := Options{Peers: "127.0.0.1:6222", Advertise: "203.0.113.1:7000",
		Routes: []string{"nats://203.0.113.1:7000", "nats://b:1", "nats://c:1"}}
	if err := o.checkRoutes(); err != nil {
		t.Errorf("the address that others are given: %v", err)
	}
}

func TestLoopback(t *testing.T) {
	t.Parallel()
	for host, want := range map[string]bool{
		"127.0.0.1": true, "127.9.9.9": true, "::1": true, "localhost": true, "::ffff:127.0.0.1": true,
		"": false, "0.0.0.0": false, "::": false, "10.0.0.5": false, "localhost.shop.example": false,
	} {
		if isLoopback(host) != want {
			t.Errorf("%q is loopback: %v, want %v", host, !want, want)
		}
	}
}
