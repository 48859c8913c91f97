package main

import (
	"crypto/x509"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/skip2/go-qrcode"

	"tallywalk/web/ask"
	"tallywalk/web/trust"
)

// How a server speaks TLS.
const (
	tlsOff   = "off"
	tlsLocal = "local"
	tlsFiles = "files"
)

// authorityDir is the folder, in that of the data, of the authority for HTTPS. A copy of
// the record has nothing of it.
const authorityDir = "authority"

// tlsFlags are the options of a server that say how it speaks TLS.
func (c *Config) tlsFlags(f *flag.FlagSet) {
	f.StringVar(&c.TLS, "tls", tlsOff,
		"HTTPS: local makes an authority of your own, which each device trusts once; files takes your certificate; off")
	f.StringVar(&c.Cert, "cert", "",
		"with --tls files: the certificate with those that vouch for it, PEM; read again when it changes")
	f.StringVar(&c.Key, "key", "", "with --tls files: its key, PEM")
}

// tlsFault is what makes no sense of those options.
func (c *Config) tlsFault() error {
	switch {
	case !slices.Contains([]string{tlsOff, tlsLocal, tlsFiles}, c.TLS):
		return &usageError{fmt.Sprintf("--tls is off, local or files, not %q", c.TLS)}
	case c.TLS == tlsFiles && (c.Cert == "" || c.Key == ""):
		return &usageError{"--tls files needs --cert and --key, each with a PEM file"}
	case c.TLS != tlsFiles && (c.Cert != "" || c.Key != ""):
		return &usageError{"--cert and --key go with --tls files"}
	}
	return nil
}

// secured reports whether the server speaks TLS itself.
func (c *Config) secured() bool { return c.TLS == tlsLocal || c.TLS == tlsFiles }

// entry is an address as a device opens it that may not trust the server yet: over plain
// HTTP, where the authority is the server's own, from where it is led on.
func (c *Config) entry(url string) string {
	if c.TLS == tlsLocal {
		return over(url, false)
	}
	return url
}

// holder is what the server shows; nil without TLS.
func (c *Config) holder(h host, set settings, log *slog.Logger) (trust.Holder, error) {
	switch c.TLS {
	case tlsLocal:
		return c.local(h, set)
	case tlsFiles:
		return trust.NewFiles(c.Cert, c.Key,
			func(err error) { log.Warn("the certificate before is shown on", "err", err) })
	}
	return nil, nil //nolint:nilnil // no TLS is no fault
}

// local shows certificates of the folder's own authority.
func (c *Config) local(h host, set settings) (trust.Holder, error) {
	named, addrs, err := c.named(set)
	if err != nil {
		return nil, err
	}
	dir := filepath.Join(c.Dir, authorityDir)
	a, err := trust.OpenAuthority(dir, append(ownNames(), named...), h.now())
	if err != nil {
		return nil, err
	}
	for _, n := range named {
		if !a.Vouches(n) {
			return nil, fmt.Errorf(
				"the authority for HTTPS was made for %s, and may not vouch for %s; serve without that name, or "+
					"move %s away: the next start makes another authority, which every device must trust again", strings.Join(a.Names(), ", "), n, dir)
		}
	}
	return trust.NewLocal(a, trust.Place{
		Names:     func() []string { return append(ownNames(), named...) },
		Addresses: func() []netip.Addr { return append(trust.OwnAddresses(), addrs...) },
	}, h.now), nil
}

// named are the names and addresses that someone gave the server: by --host, and that
// of the public URL.
func (c *Config) named(set settings) (names []string, addrs []netip.Addr, err error) {
	given := slices.Clone(c.Hosts)
	if u, err := url.Parse(set.PublicURL); err == nil && set.Given {
		given = append(given, u.Hostname())
	}
	for _, g := range given {
		g = strings.ToLower(g)
		ip, err := netip.ParseAddr(g)
		switch {
		case err == nil && trust.Private(ip):
			addrs = append(addrs, ip)
		case err == nil:
			return nil, nil,
				fmt.Errorf("%s is an address of the internet, and the authority of --tls local vouches for private ones only; "+
					"for that address use --tls files", g)
		case !trust.IsName(g):
			return nil, nil,
				&usageError{fmt.Sprintf("%q is no name of a computer that a certificate can have", g)}
		case !slices.Contains(names, g) && !slices.Contains(ownNames(), g):
			names = append(names, g)
		}
	}
	return names, addrs, nil
}

// ownNames are the names by which this computer goes.
func ownNames() []string {
	name, err := os.Hostname()
	if err != nil {
		name = ""
	}
	return trust.HostNames(name)
}

// hostsOf are the names under which the server answers, for what it shows.
func hostsOf(c Config, shows trust.Holder) ([]string, error) {
	if shows == nil {
		return c.Hosts, nil
	}
	shown, err := shows.Certificate()
	if err != nil {
		return nil, err
	}
	return append(slices.Clone(c.Hosts), shown.Leaf.DNSNames...), nil
}

// sayTrust says on the console what devices must trust, and where.
func sayTrust(w io.Writer, authority *x509.Certificate, address string) error {
	if _, err := fmt.Fprintf(w,
		"Each device trusts this server once: open %s on it and compare the authority's fingerprint (SHA-256):\n%s\n",
		address, inTwo(trust.Fingerprint(authority))); err != nil {
		return err
	}
	return drawQR(w, address)
}

// inTwo is a fingerprint on two lines, to be compared by eye.
func inTwo(fingerprint string) string {
	groups := strings.Fields(fingerprint)
	half := len(groups) / 2
	return "  " + strings.Join(groups[:half], " ") + "\n  " + strings.Join(groups[half:], " ")
}

// drawQR draws a QR symbol of a text with half blocks: two rows of modules a line, the
// dark ones drawn as the console's ground, which is dark on most; the quiet zone is
// drawn light, so that it reads on others too.
func drawQR(w io.Writer, text string) error {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return fmt.Errorf("a QR of %s: %w", text, err)
	}
	_, err = io.WriteString(w, q.ToSmallString(false))
	return err
}

// trustAddress is where a device finds the page that helps it to trust the server, over
// plain HTTP: under the name that was given, else by an address of this computer, since
// its name is not known in every network.
func trustAddress(set settings, addr net.Addr) string {
	if u, err := url.Parse(set.PublicURL); err == nil && set.Given {
		return "http://" + u.Host + "/trust"
	}
	name, port, err := net.SplitHostPort(addr.String())
	if ip, perr := netip.ParseAddr(name); err == nil && perr == nil && ip.IsUnspecified() {
		name = reachable().String()
		return "http://" + net.JoinHostPort(name, port) + "/trust"
	}
	return "http://" + addr.String() + "/trust"
}

// reachable is the first address of this computer that others may know: of IPv4, where
// it has one.
func reachable() netip.Addr {
	best := netip.MustParseAddr("127.0.0.1")
	for _, a := range trust.OwnAddresses() {
		if a = a.Unmap(); a.IsLoopback() || a.IsLinkLocalUnicast() || !trust.Private(a) {
			continue
		}
		if a.Is4() {
			return a
		}
		best = a
	}
	return best
}

func cmdTrust(h host, args []string) error {
	f := flags(h, "trust")
	dir := dataFlag(f)
	out := f.String("out", "", "write the certificate that devices take in to this file")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	if err := needData(*dir); err != nil {
		return err
	}
	a, err := trust.ReadAuthority(filepath.Join(*dir, authorityDir))
	if err != nil {
		return err
	}
	if *out != "" {
		if err := os.WriteFile(*out, trust.PEM(a), 0o644); err != nil {
			return fmt.Errorf("%s cannot be written: %w", *out, err)
		}
	}
	_, err = fmt.Fprintf(h.out,
		"%s, until %s\nvouches for private addresses and for %s\nfingerprint (SHA-256):\n%s\n",
		a.Subject.CommonName, a.NotAfter.Format("2006-01-02"), strings.Join(a.PermittedDNSDomains, ", "),
		inTwo(trust.Fingerprint(a)))
	return err
}

// over is a public URL as it is over TLS, and without: the same host and port.
func over(publicURL string, tls bool) string {
	u, err := url.Parse(publicURL)
	if err != nil || u.Host == "" {
		return publicURL
	}
	if tls && u.Scheme == "http" {
		return ask.HTTPS(u.Host)
	}
	if !tls && u.Scheme == "https" && u.Port() == "" {
		return "http://" + net.JoinHostPort(u.Hostname(), "443")
	}
	if !tls {
		return "http://" + u.Host
	}
	return publicURL
}
