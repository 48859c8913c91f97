package trust

import (
	"crypto/ecdsa"
	"crypto/tls"
	"crypto/x509"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var made = time.Date(2026, 11, 28, 10, 0, 0, 0, time.UTC)

// shop is an authority for the shop's server, and its folder.
func shop(t *testing.T) (*Authority, string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "authority")
	a, err := OpenAuthority(dir, append(HostNames("Shop.example.test"), "cards.test"), made)
	if err != nil {
		t.Fatal(err)
	}
	return a, dir
}

// verify is what a device says of a certificate that it trusts the authority for.
func verify(a *Authority, c *tls.Certificate, host string, at time.Time) error {
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	_, err := c.Leaf.Verify(x509.VerifyOptions{DNSName: host, Roots: roots, CurrentTime: at})
	return err
}

// opensslSays is what an independent reader says of it: the constraints of RFC 5280.
func opensslSays(t *testing.T, a *Authority, c *tls.Certificate, option, host string) error {
	t.Helper()
	dir := t.TempDir()
	root, leaf := filepath.Join(dir, "root.pem"), filepath.Join(dir, "leaf.pem")
	for name, cert := range map[string]*x509.Certificate{root: a.cert, leaf: c.Leaf} {
		if err := os.WriteFile(name, PEM(cert), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	at := "1795860000" // 28 November 2026, 10:00 UTC
	return exec.Command("openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-attime", at,
		"-CAfile", root, option, host, leaf).Run()
}

// The authority vouches for private addresses and its own names, for nothing else,
// whoever asks with its key; Go and OpenSSL read it alike.
func TestAuthorityIsConstrained(t *testing.T) {
	t.Parallel()
	a, _ := shop(t)
	if a.cert.Subject.CommonName == "" || !a.cert.PermittedDNSDomainsCritical ||
		a.cert.PublicKeyAlgorithm != x509.ECDSA {
		t.Errorf("%+v", a.cert)
	}
	for host, good := range map[string]bool{
		"10.1.2.3": true, "172.16.0.1": true, "172.31.255.254": true, "192.168.178.20": true,
		"127.0.0.1":   true,
		"169.254.7.7": true, "fd12:3456::1": true, "fe80::1": true, "::1": true,
		"8.8.8.8": false, "172.32.0.1": false, "192.169.0.1": false, "11.0.0.1": false, "2001:db8::1": false,
		"::2":               false,
		"shop.example.test": true, "shop": true, "shop.local": true, "localhost": true, "cards.test": true,
		"bank.test": false, "example.test": false, "local": false, "myshop": false, "other.local": false,
	} {
		names, addrs, option := []string{host}, []netip.Addr(nil), "-verify_hostname"
		if ip, err := netip.ParseAddr(host); err == nil {
			names, addrs, option = nil, []netip.Addr{ip}, "-verify_ip"
		}
		c, err := a.issue(names, addrs, made)
		if err != nil {
			t.Fatal(err)
		}
		if err := verify(a, c, host, made); (err == nil) != good {
			t.Errorf("%s: Go says %v", host, err)
		}
		if err := opensslSays(t, a, c, option, host); (err == nil) != good {
			t.Errorf("%s: OpenSSL says %v", host, err)
		}
		if addrs != nil && Private(addrs[0]) != good || addrs == nil && a.Vouches(host) != good {
			t.Errorf("%s: we say otherwise", host)
		}
	}
}

// A certificate holds for less than 398 days; its authority for much longer, from before
// it was made.
func TestSpans(t *testing.T) {
	t.Parallel()
	a, _ := shop(t)
	c, err := a.issue([]string{"shop"}, nil, made)
	if err != nil {
		t.Fatal(err)
	}
	if life := c.Leaf.NotAfter.Sub(c.Leaf.NotBefore); life >= 398*24*time.Hour || life < 365*24*time.Hour {
		t.Errorf("holds for %v", life)
	}
	for days, good := range map[int]bool{-29: true, 0: true, 365: true, -31: false, 368: false} {
		if err := verify(a, c, "shop", made.AddDate(0, 0, days)); (err == nil) != good {
			t.Errorf("day %d: %v", days, err)
		}
	}
}

// The authority is the same at the next start, its key is for this account alone, and
// a file that is broken is not replaced.
func TestAuthorityIsKept(t *testing.T) {
	t.Parallel()
	a, dir := shop(t)
	again, err := OpenAuthority(dir, []string{"another"}, made.AddDate(1, 0, 0))
	if err != nil || Fingerprint(again.cert) != Fingerprint(a.cert) || !again.key.Equal(a.key) {
		t.Fatalf("%v", err)
	}
	if read, err := ReadAuthority(dir); err != nil || !read.Equal(a.cert) {
		t.Errorf("%v", err)
	}
	for name, mode := range map[string]os.FileMode{".": 0o700 | os.ModeDir, authorityFile: 0o600} {
		if st, err := os.Stat(filepath.Join(dir, name)); err != nil || st.Mode() != mode {
			t.Errorf("%s: %v %v", name, st.Mode(), err)
		}
	}
	public, err := os.ReadFile(filepath.Join(dir, publicFile))
	if err != nil || strings.Contains(string(public), "PRIVATE") || string(public) != string(PEM(a.cert)) {
		t.Errorf("%s %v", public, err)
	}
	if err := os.WriteFile(filepath.Join(dir, authorityFile), public, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := OpenAuthority(dir, nil, made); err == nil ||
		!strings.Contains(err.Error(), "every device must trust again") {
		t.Errorf("without its key: %v", err)
	}
	if _, err := ReadAuthority(t.TempDir()); err == nil {
		t.Error("an authority where there is none")
	}
}

func TestFingerprint(t *testing.T) {
	t.Parallel()
	a, dir := shop(t)
	out, err := exec.Command("openssl", "x509", "-noout", "-fingerprint", "-sha256", "-in",
		filepath.Join(dir, publicFile)).Output()
	if err != nil {
		t.Fatal(err)
	}
	_, said, _ := strings.Cut(strings.TrimSpace(string(out)), "=")
	if got := Fingerprint(a.cert); strings.ReplaceAll(got, " ", "") != strings.ReplaceAll(said, ":", "") ||
		len(strings.Fields(got)) != 16 {
		t.Errorf("%s, and OpenSSL has %s", got, said)
	}
}

// here is a place that a test moves.
type here struct {
	names []string
	addrs []netip.Addr
	now   time.Time
}

func (h *here) local(a *Authority) *Local {
	return NewLocal(a, Place{func() []string { return h.names }, func() []netip.Addr { return h.addrs }},
		func() time.Time { return h.now })
}

func shown(t *testing.T, h Holder) *tls.Certificate {
	t.Helper()
	c, err := h.Certificate()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// One certificate serves until it nears its end, the clock is set back, or the place
// changes; the authority stays. What it may not vouch for is left out and spoils nothing.
func TestRenewal(t *testing.T) {
	t.Parallel()
	a, _ := shop(t)
	h := &here{[]string{"shop", "shop.local"},
		[]netip.Addr{netip.MustParseAddr("192.168.1.5"), netip.MustParseAddr("::ffff:10.0.0.1")}, made}
	l := h.local(a)
	first := shown(t, l)
	for _, ok := range []string{"shop", "192.168.1.5", "10.0.0.1"} {
		if err := verify(a, first, ok, h.now); err != nil {
			t.Error(err)
		}
	}
	h.now = h.now.AddDate(0, 0, 300)
	if shown(t, l) != first {
		t.Error("another one before it is due")
	}
	h.now = first.Leaf.NotAfter.AddDate(0, 0, -59)
	second := shown(t, l)
	if second == first || second.PrivateKey.(*ecdsa.PrivateKey).Equal(first.PrivateKey) ||
		verify(a, second, "shop", h.now.AddDate(0, 0, 300)) != nil {
		t.Error("not renewed before its end")
	}
	h.addrs = append(h.addrs, netip.MustParseAddr("192.168.9.9"), netip.MustParseAddr("203.0.113.7"),
		netip.MustParseAddr("fe80::7%eth0"))
	h.names = append(h.names, "renamed")
	h.now = h.now.Add(lookEvery)
	third := shown(t, l)
	for host, good := range map[string]bool{"192.168.9.9": true, "fe80::7": true, "shop": true,
		"203.0.113.7": false, "renamed": false} {
		if err := verify(a, third, host, h.now); (err == nil) != good {
			t.Errorf("after the move: %s: %v", host, err)
		}
	}
	h.now = made.AddDate(0, 0, -40)
	if c := shown(t, l); verify(a, c, "shop", h.now) != nil {
		t.Error("not renewed after the clock was set back")
	}
	from, until, err := Span(l)
	if err != nil || h.now.Before(from) || !h.now.Before(until) || until.Sub(from) > 398*24*time.Hour {
		t.Errorf("%v to %v, %v", from, until, err)
	}
}

func TestHostNames(t *testing.T) {
	t.Parallel()
	for host, want := range map[string]string{
		"SHOP":               "shop shop.local localhost",
		"shop.example.test.": "shop.example.test shop shop.local localhost",
		"localhost":          "localhost localhost.local", "": "localhost", "Büro 1": "localhost",
	} {
		if got := strings.Join(HostNames(host), " "); got != want {
			t.Errorf("%q: %s", host, got)
		}
	}
	if IsName("8.8 8.8") || IsName("") || IsName("a b") || !IsName("shop.example") {
		t.Error("names")
	}
}
