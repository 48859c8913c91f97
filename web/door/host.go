package door

import (
	"net"
	"net/netip"
	"net/url"
	"strings"
)

// hostRule says which Host headers are ours. A name that someone else's DNS
// points at us (DNS rebinding) is not; an address written as a number is
// harmless, since it stands for no other name.
type hostRule struct{ names map[string]bool }

func newHostRule(publicURL string, extra []string) hostRule {
	r := hostRule{names: map[string]bool{"localhost": true}}
	if u, err := url.Parse(publicURL); err == nil && u.Hostname() != "" {
		r.names[strings.ToLower(u.Hostname())] = true
	}
	for _, h := range extra {
		r.names[strings.ToLower(h)] = true
	}
	return r
}

func (r hostRule) ours(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.Trim(strings.ToLower(name), "[]")
	if r.names[name] {
		return true
	}
	_, err := netip.ParseAddr(name)
	return err == nil
}

// sameOrigin reports whether a request that a page made was made by one of our
// own pages; over TLS, by one that came over TLS too. Programs send no Origin.
func sameOrigin(origin, host string, encrypted bool) bool {
	if origin == "" {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && u.Host != "" && strings.EqualFold(u.Host, host) &&
		(!encrypted || u.Scheme == "https")
}
