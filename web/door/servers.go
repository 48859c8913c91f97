package door

import (
	"net"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

// tableServers remembers the servers of this record by their names: one that is down for
// days is one of them still, and so are the pages that devices keep of it.
const tableServers = "servers"

// How long a server that is not heard of stays one of the record's, how often it is
// noted that it was heard of, and how long an answer holds.
const (
	serverStays   = 30 * 24 * time.Hour
	serverNoted   = 24 * time.Hour
	serversAnswer = 2 * time.Second
)

// seenServer is a row of tableServers.
type seenServer struct {
	URL   string    `json:"url"`
	Heard time.Time `json:"heard"`
}

// serverAt is one of the servers that keep this record, as a device needs to know it.
type serverAt struct {
	Name string `json:"name"`
	URL  string `json:"url"`
	Self bool   `json:"self,omitempty"` // it is the one that answers
}

// servers knows the servers of the record a moment ago. It is safe for concurrent use.
type servers struct {
	mu   sync.Mutex
	list []serverAt
	at   time.Time // by the real clock

	noting atomic.Bool // some are being written
}

// serversOf lists the servers of this record that have an address, by name: those that
// were heard of in the last thirty days, the one that answers among them; nil where one
// file keeps the record.
func (s *Door) serversOf() []serverAt {
	if s.Servers == nil {
		return nil
	}
	s.servers.mu.Lock()
	defer s.servers.mu.Unlock()
	now := s.Real()
	if age := now.Sub(s.servers.at); age >= 0 && age < serversAnswer && s.servers.list != nil {
		return s.servers.list
	}
	s.servers.list, s.servers.at = s.rememberServers(), now
	return s.servers.list
}

// rememberServers reads who is heard of, and keeps it in the tables. A server with another
// address than before has only the new one.
func (s *Door) rememberServers() []serverAt {
	now := s.Time()
	seen, err := rows.All[seenServer](s.Tables, tableServers)
	if err != nil {
		s.Log.Warn("reading which servers there were", "err", err)
		seen = map[string]seenServer{}
	}
	self, due := "", map[string]seenServer{}
	for _, v := range s.Servers.Servers() {
		if v.Self {
			self, v.Heard = v.Name, now
		}
		if v.URL == "" {
			continue
		}
		was, there := seen[v.Name]
		seen[v.Name] = seenServer{v.URL, v.Heard}
		if there && was.URL == v.URL && v.Heard.Sub(was.Heard) < serverNoted {
			continue
		}
		due[v.Name] = seen[v.Name]
	}
	// Nobody who asks waits for that: where the engines keep nothing, pages are read still.
	if len(due) > 0 && s.servers.noting.CompareAndSwap(false, true) {
		go s.noteServers(due)
	}
	out := []serverAt{}
	for name, v := range seen {
		if now.Sub(v.Heard) < serverStays {
			out = append(out, serverAt{name, v.URL, name == self})
		}
	}
	slices.SortFunc(out, func(a, b serverAt) int { return strings.Compare(a.Name, b.Name) })
	return out
}

func (s *Door) noteServers(due map[string]seenServer) {
	defer s.servers.noting.Store(false)
	for name, v := range due {
		if err := s.putRow(tableServers, name, v); err != nil {
			s.Log.Warn("noting a server of this record", "err", err)
		}
	}
}

// hostPort is the host and port that a URL names, in one way of writing; empty where it
// names none.
func hostPort(text string) string {
	u, err := url.Parse(text)
	if err != nil || u.Hostname() == "" || (u.Scheme != "http" && u.Scheme != "https") {
		return ""
	}
	port := u.Port()
	switch {
	case port != "":
	case u.Scheme == "https":
		port = "443"
	default:
		port = "80"
	}
	return net.JoinHostPort(strings.ToLower(u.Hostname()), port)
}

// ownName reports whether a Host header names this server as the others of its record
// know it.
func (s *Door) ownName(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	return slices.ContainsFunc(s.serversOf(), func(v serverAt) bool {
		u, err := url.Parse(v.URL)
		return v.Self && err == nil && strings.EqualFold(u.Hostname(), strings.Trim(name, "[]"))
	})
}

// Reach are the sources of the other servers of this record as a policy of content names
// them (CSP 3, 2.3.1), in the way in which the page itself came: a page that came over TLS
// may ask none that does not.
func (s *Door) Reach(c *fiber.Ctx) (out []string) {
	page, live := "http://", "ws://"
	if ask.Encrypted(c) || s.Secure {
		page, live = "https://", "wss://"
	}
	for _, v := range s.serversOf() {
		if at := hostPort(v.URL); at != "" && !v.Self {
			out = append(out, page+at, live+at)
		}
	}
	return out
}
