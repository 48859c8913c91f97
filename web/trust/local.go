package trust

import (
	"crypto/tls"
	"crypto/x509"
	"net"
	"net/netip"
	"slices"
	"sync"
	"time"
)

// lookEvery is how often it is looked whether the computer's names and addresses have
// changed, when someone connects.
const lookEvery = 2 * time.Second

// Place is where a server can be found: its names and addresses as they are now. What
// its authority may not vouch for is left out.
type Place struct {
	Names     func() []string
	Addresses func() []netip.Addr
}

// Local shows certificates of an authority of the shop's own.
type Local struct {
	authority *Authority
	place     Place
	now       func() time.Time

	mu     sync.Mutex
	shown  *tls.Certificate
	looked time.Time
}

// NewLocal shows certificates of an authority for a place. now is the clock that
// devices have, too.
func NewLocal(a *Authority, p Place, now func() time.Time) *Local {
	return &Local{authority: a, place: p, now: now}
}

// Authority is the shop's own.
func (l *Local) Authority() *x509.Certificate { return l.authority.cert }

// Certificate is a certificate for where the server is now. It is another one when the
// last nears its end, or the place has changed. It fails where the system gives no
// chance to make a key of.
func (l *Local) Certificate() (*tls.Certificate, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	due := l.shown == nil || now.Before(l.shown.Leaf.NotBefore) ||
		now.After(l.shown.Leaf.NotAfter.Add(-renewDays*day))
	if since := now.Sub(l.looked); !due && since >= 0 && since < lookEvery {
		return l.shown, nil
	}
	l.looked = now
	names, addrs := l.where()
	if !due && sameNames(l.shown.Leaf, names) && sameAddresses(l.shown.Leaf, addrs) {
		return l.shown, nil
	}
	made, err := l.authority.issue(names, addrs, now)
	if err != nil {
		return nil, err
	}
	l.shown = made
	return made, nil
}

// where is what the authority may vouch for of the place as it is now, in order.
func (l *Local) where() (names []string, addrs []netip.Addr) {
	for _, n := range l.place.Names() {
		if l.authority.Vouches(n) {
			names = append(names, n)
		}
	}
	for _, a := range l.place.Addresses() {
		if Private(a) {
			addrs = append(addrs, a.Unmap().WithZone(""))
		}
	}
	slices.Sort(names)
	slices.SortFunc(addrs, netip.Addr.Compare)
	return slices.Compact(names), slices.Compact(addrs)
}

func sameNames(c *x509.Certificate, names []string) bool { return slices.Equal(c.DNSNames, names) }

func sameAddresses(c *x509.Certificate, addrs []netip.Addr) bool {
	return slices.EqualFunc(c.IPAddresses, addrs, func(ip net.IP, a netip.Addr) bool {
		b, ok := netip.AddrFromSlice(ip)
		return ok && b.Unmap() == a
	})
}

// OwnAddresses are the addresses of this computer; none where the system does not say.
func OwnAddresses() []netip.Addr {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	var out []netip.Addr
	for _, a := range all {
		if p, err := netip.ParsePrefix(a.String()); err == nil {
			out = append(out, p.Addr())
		}
	}
	return out
}
