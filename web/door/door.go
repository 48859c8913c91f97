// Package door says who comes in and to what: it looks at every request first,
// knows who asks by session, token, station or screen, and slows guessing down.
package door

import (
	"net/netip"
	"sync"

	"github.com/gofiber/fiber/v2"

	"tallywalk/web/ask"
)

// Door is the way in. It is safe for concurrent use.
type Door struct {
	*ask.House
	hosts   hostRule
	letIn   passes
	tries   tries
	once    sync.Mutex // held while a one-time code is looked up and taken
	signIns gate
	guesses gate // of one-time codes
	hashing turns
	proxies map[netip.Addr]bool
}

// New makes the door of a house. hosts are names that the server goes by beside
// that of its public URL, proxies those whose X-Forwarded-For is believed. The
// house gets tables whose writes the door hears of.
func New(h *ask.House, hosts []string, proxies []netip.Addr) *Door {
	d := &Door{House: h, hosts: newHostRule(h.PublicURL, hosts), hashing: newTurns(), proxies: map[netip.Addr]bool{}}
	for _, ip := range proxies {
		d.proxies[ip.Unmap()] = true
	}
	h.Tables = heard{h.Tables, &d.letIn}
	return d
}

// Let is a route's handler for those who may: everybody where the route has no
// deed.
func (s *Door) Let(r *ask.Route) fiber.Handler {
	if r.Deed == "" {
		return r.Handle
	}
	return s.Allow(r.Deed, r.Handle)
}
