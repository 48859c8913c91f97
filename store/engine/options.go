// Package engine runs one node of the engine that keeps a record on several machines: NATS JetStream, as a
// part of this program. It is the only room that knows the engine itself; the others speak to it as its
// clients do.
//
// Decisions.
//
//   - A node writes synchronously (sync_always). By itself the engine makes what it has acknowledged safe
//     every two minutes, and a power cut in a hall that all three nodes hang on takes what was acknowledged
//     since.
//   - A node knows the routes of all nodes, itself included. The engine takes the number of routes for the
//     number of nodes: were a node to leave itself out, two nodes with emptied disks of three would found a
//     new, empty group.
//   - The system account stays the engine's own. What servers may ask of all nodes is how they are set
//     (Nodes); the subject is imported into the account that the record is in.
//   - With a secret all connections are TLS with the one certificate that is made of it; see store/secret.
//   - Clients do not hear of other nodes: they know all of them from the start, and would be sent past a
//     network address translation or a test's proxies.
//   - A folder belongs to the node that began in it, by name: the engine knows nodes by their names, and
//     would take the folder's votes for those of the other node.
//   - A node may fill its disk. By itself the engine takes three quarters of what is free when it starts, not
//     counting what it has: a node with a large record would refuse everything the next time.
//   - When the engine gives up, or a write to its files fails (a full disk), the process ends. The engine
//     itself goes on with a stream that takes nothing any more, and while such a node leads, nobody can
//     write; ended, it leaves that to the others.
package engine

import (
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"regexp"
	"slices"
	"strconv"

	"tallywalk/store/secret"
)

// Nodes is the subject that a client asks all nodes on, as many answers as there are nodes: each says how it
// is set, as the engine's own VARZ does.
const Nodes = "TALLYWALK.NODES"

// Streams is the subject that a client asks all nodes on for what each has of the streams on its own disk, as
// the engine's own JSZ says it; what is asked for is the body.
const Streams = "TALLYWALK.STREAMS"

// Cluster is the name of the group of nodes.
const Cluster = "tallywalk"

// MaxPayload is the size of the largest message, in bytes.
const MaxPayload = 8 << 20

// Options say what a node is.
type Options struct {
	Name   string         // of the node among the others: letters, digits, - and _; of one node for ever
	Dir    string         // its folder, on a disk of this computer
	Listen string         // HOST:PORT for servers (clients)
	Peers  string         // HOST:PORT for the other nodes; empty = this node is alone
	Routes []string       // nats://HOST:PORT of all nodes' Peers, this node's among them; none = this node is alone
	Secret *secret.Secret // needed when Listen or Peers can be reached from other computers
	// Advertise is the HOST:PORT at which others reach Peers where that is another than it says; empty = as
	// it says.
	Advertise string
	Log       *slog.Logger // nil = nothing is logged
}

var nodeName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_-]{0,62}$`)

// check refuses what a node cannot or should not be started with, and says what to do.
func (o Options) check() error {
	if !nodeName.MatchString(o.Name) {
		return fmt.Errorf("the name %q: a node's name has 1 to 63 letters, digits, - and _, and begins "+
			"with a letter or digit", o.Name)
	}
	if o.Dir == "" {
		return errors.New("the node needs a folder")
	}
	if (o.Peers == "") != (len(o.Routes) == 0) {
		return errors.New("a node among others needs both the address at which they reach it and the " +
			"routes of all nodes; " +
			"a node that is alone needs neither")
	}
	for _, address := range []string{o.Listen, o.Peers} {
		if address == "" && o.Peers == "" && o.Listen != "" {
			continue
		}
		if err := o.checkAddress(address); err != nil {
			return err
		}
	}
	if o.Peers == "" {
		return nil
	}
	return o.checkRoutes()
}

// checkAddress refuses an address that says no port, or that other computers reach while there is no secret.
func (o Options) checkAddress(address string) error {
	host, _, err := splitAddress(address)
	if err != nil {
		return err
	}
	if o.Secret == nil && !isLoopback(host) {
		return fmt.Errorf("%s can be reached from other computers, and without a secret anyone there "+
			"could change the record; "+
			"make a secret on one machine with `tallywalk engine --new-secret FILE`, copy the file to the "+
			"others and start each "+
			"with --secret FILE; to try it out on this computer alone, listen on 127.0.0.1", address)
	}
	return nil
}

func splitAddress(address string) (host string, port int, err error) {
	host, text, err := net.SplitHostPort(address)
	if err == nil {
		port, err = strconv.Atoi(text)
	}
	if err != nil || port < 0 || port > 65535 {
		return "", 0, fmt.Errorf("%q is no address: it is HOST:PORT, as 10.0.0.5:4222", address)
	}
	return host, port, nil
}

// isLoopback reports whether only this computer reaches the host.
func isLoopback(host string) bool {
	if ip, err := netip.ParseAddr(host); err == nil {
		return ip.Unmap().IsLoopback()
	}
	return host == "localhost"
}

// checkRoutes refuses routes that are none, that stand twice, that are fewer than three, or that leave this
// node out.
func (o Options) checkRoutes() error {
	routes, err := o.routes()
	if err != nil {
		return err
	}
	var hosts []string
	for _, r := range routes {
		if slices.Contains(hosts, r.Host) {
			return fmt.Errorf("the route %s stands twice: name every node once", r.Host)
		}
		hosts = append(hosts, r.Host)
	}
	if len(routes) < 3 || len(routes)%2 == 0 {
		return fmt.Errorf("there are %d routes, and they name all nodes, this one included: 3 or 5 nodes "+
			"are of use, since more than "+
			"half of them must be there for anything to be written; a node that is alone has neither "+
			"--cluster nor --routes", len(routes))
	}
	if o.leftOut(routes) {
		return fmt.Errorf("the routes %v do not name this node, which others reach at %s: they name all "+
			"nodes, this one included, "+
			"or two nodes that lost their disks would begin an empty record", hosts, o.Peers)
	}
	return nil
}

func (o Options) routes() ([]*url.URL, error) {
	var all []*url.URL
	for i, text := range o.Routes {
		u, err := url.Parse(text)
		if err != nil || u.Scheme != "nats" || u.Hostname() == "" || u.Port() == "" || u.Path != "" ||
			u.User != nil {
			// It is not said again: someone may have put a password into it.
			return nil, fmt.Errorf("route %d of %d is none: it is nats://HOST:PORT, and what nodes know "+
				"each other by is the secret",
				i+1, len(o.Routes))
		}
		all = append(all, u)
	}
	return all, nil
}

// leftOut reports that none of the routes can be this node. While a name does not lead to an address it might
// be this node's, so that a machine that starts before its name server does is not refused.
func (o Options) leftOut(routes []*url.URL) bool {
	host, port, _ := splitAddress(o.Peers)
	if port == 0 {
		return false // any free port, which nobody can have named
	}
	for _, r := range routes {
		if o.Advertise != "" && r.Host == o.Advertise {
			return false
		}
		if r.Port() != strconv.Itoa(port) {
			continue
		}
		if r.Hostname() == host || isOurs(r.Hostname(), host) {
			return false
		}
	}
	return true
}

// isOurs reports whether the name leads to this computer, at the address that is listened on (all, when that
// is none).
func isOurs(name, listen string) bool {
	found, err := net.LookupHost(name)
	if err != nil {
		return true
	}
	want, err := netip.ParseAddr(listen)
	if err != nil {
		at, err := net.LookupHost(listen)
		if listen != "" && err == nil {
			return slices.ContainsFunc(at, func(a string) bool { return slices.Contains(found, a) })
		}
		want = netip.IPv4Unspecified()
	}
	ours, err := net.InterfaceAddrs()
	if err != nil {
		return true
	}
	for _, text := range found {
		ip, err := netip.ParseAddr(text)
		if err != nil {
			continue
		}
		if ip == want || want.IsUnspecified() && (ip.IsLoopback() || isAmong(ip, ours)) {
			return true
		}
	}
	return false
}

func isAmong(ip netip.Addr, addresses []net.Addr) bool {
	return slices.ContainsFunc(addresses, func(a net.Addr) bool {
		prefix, err := netip.ParsePrefix(a.String())
		return err == nil && prefix.Addr().WithZone("") == ip.WithZone("")
	})
}
