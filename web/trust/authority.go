package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
)

// How long certificates hold. Browsers take no server certificate of 398 days or more
// (CA/Browser Forum, Baseline Requirements 6.3.2, before 2026; for authorities that a
// device's owner added, common practice).
const (
	leafDays      = 397
	leafPast      = 30 // days of them that lie before the day it is made
	renewDays     = 60 // before its end, when another is made
	authorityDays = 20 * 365
	authorityPast = 365
	day           = 24 * time.Hour
)

// Names of the files of an authority. The second holds what devices take in, for
// whoever carries it to them by hand.
const (
	authorityFile = "authority.pem"
	publicFile    = "authority.crt"
)

// privateRanges are the addresses that an authority may vouch for: private use
// (RFC 1918, RFC 4193), this computer itself, and links (RFC 3927, RFC 4291).
var privateRanges = []netip.Prefix{
	netip.MustParsePrefix("10.0.0.0/8"), netip.MustParsePrefix("172.16.0.0/12"),
	netip.MustParsePrefix("192.168.0.0/16"),
	netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("169.254.0.0/16"),
	netip.MustParsePrefix("fc00::/7"), netip.MustParsePrefix("fe80::/10"), netip.MustParsePrefix("::1/128"),
}

// Private reports whether an authority may vouch for an address.
func Private(a netip.Addr) bool {
	a = a.Unmap().WithZone("")
	return slices.ContainsFunc(privateRanges, func(p netip.Prefix) bool { return p.Contains(a) })
}

// Authority vouches for the certificates of one shop's server.
type Authority struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

// OpenAuthority opens the authority that a folder holds; where there is none it makes
// one for the names, which are the only ones that it may ever vouch for. It fails
// where the folder can't be read or written, and where what it holds is no authority.
func OpenAuthority(dir string, names []string, now time.Time) (*Authority, error) {
	path := filepath.Join(dir, authorityFile)
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return makeAuthority(dir, names, now)
	}
	if err != nil {
		return nil, fmt.Errorf("the authority for HTTPS: %w", err)
	}
	a, err := parseAuthority(text)
	if err != nil {
		return nil, fmt.Errorf(
			"%s: %w; put it back from a copy, or move it away: the next start makes another "+
				"authority, which every device must trust again", path, err)
	}
	return a, nil
}

func parseAuthority(text []byte) (*Authority, error) {
	pair, err := tls.X509KeyPair(text, text)
	if err != nil {
		return nil, err
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok || !pair.Leaf.IsCA {
		return nil, errors.New("is no authority that was made here")
	}
	return &Authority{pair.Leaf, key}, nil
}

// makeAuthority makes an authority and keeps it.
func makeAuthority(dir string, names []string, now time.Time) (*Authority, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("a key for HTTPS: %w", err)
	}
	form, err := authorityForm(names, now)
	if err != nil {
		return nil, err
	}
	raw, err := x509.CreateCertificate(rand.Reader, form, form, key.Public(), key)
	if err != nil {
		return nil, fmt.Errorf("the authority for HTTPS: %w", err)
	}
	cert, err := x509.ParseCertificate(raw)
	if err != nil {
		return nil, fmt.Errorf("the authority for HTTPS: %w", err)
	}
	a := &Authority{cert, key}
	return a, a.keep(dir)
}

func authorityForm(names []string, now time.Time) (*x509.Certificate, error) {
	serial, err := newSerial()
	if err != nil {
		return nil, err
	}
	called := "tallywalk"
	if len(names) > 0 {
		called += " of " + names[0]
	}
	ranges := make([]*net.IPNet, len(privateRanges))
	for i, p := range privateRanges {
		ranges[i] = &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}
	}
	return &x509.Certificate{
		SerialNumber: serial,
		// Two authorities of one shop have two names: some stores distinguish them by that.
		Subject:   pkix.Name{CommonName: called + ", " + hex.EncodeToString(serial.Bytes()[:4])},
		NotBefore: now.Add(-authorityPast * day), NotAfter: now.Add(authorityDays * day),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		// It vouches for servers, never for programs or letters.
		ExtKeyUsage:                 []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: names, PermittedIPRanges: ranges,
	}, nil
}

// keep writes the authority, readable by this account alone, and beside it what
// devices take in.
func (a *Authority) keep(dir string) error {
	key, err := x509.MarshalPKCS8PrivateKey(a.key)
	if err != nil {
		return fmt.Errorf("the authority's key: %w", err)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("the folder of the authority: %w", err)
	}
	both := append(PEM(a.cert), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: key})...)
	if err := writeWhole(filepath.Join(dir, authorityFile), both, 0o600); err != nil {
		return err
	}
	return writeWhole(filepath.Join(dir, publicFile), PEM(a.cert), 0o644)
}

// writeWhole puts a file there whole or not at all.
func writeWhole(path string, data []byte, mode os.FileMode) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".tallywalk-*")
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	_, err = f.Write(data)
	err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", path, errors.Join(err, os.Remove(f.Name())))
	}
	return nil
}

// ReadAuthority reads what devices take in, from the folder of an authority. It fails
// where there is none.
func ReadAuthority(dir string) (*x509.Certificate, error) {
	text, err := os.ReadFile(filepath.Join(dir, authorityFile))
	if err != nil {
		return nil, fmt.Errorf(
			"there is no authority for HTTPS in %s; `tallywalk serve --tls local` makes it", dir)
	}
	a, err := parseAuthority(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", filepath.Join(dir, authorityFile), err)
	}
	return a.cert, nil
}

// Vouches reports whether the authority may vouch for a name of a computer: one that
// it was made for, or one below it.
func (a *Authority) Vouches(name string) bool {
	return slices.ContainsFunc(a.cert.PermittedDNSDomains, func(d string) bool {
		return name == d || strings.HasSuffix(name, "."+d)
	})
}

// Names are the names that the authority was made for.
func (a *Authority) Names() []string { return slices.Clone(a.cert.PermittedDNSDomains) }

// issue makes a certificate for names and addresses, with a key of its own.
func (a *Authority) issue(names []string, addrs []netip.Addr, now time.Time) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("a key for HTTPS: %w", err)
	}
	serial, err := newSerial()
	if err != nil {
		return nil, err
	}
	from := now.Add(-leafPast * day)
	form := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "tallywalk server"},
		NotBefore: from, NotAfter: from.Add(leafDays * day),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true, DNSNames: names,
	}
	for _, ip := range addrs {
		form.IPAddresses = append(form.IPAddresses, ip.AsSlice())
	}
	raw, err := x509.CreateCertificate(rand.Reader, form, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, fmt.Errorf("a certificate for HTTPS: %w", err)
	}
	leaf, err := x509.ParseCertificate(raw)
	if err != nil {
		return nil, fmt.Errorf("a certificate for HTTPS: %w", err)
	}
	return &tls.Certificate{Certificate: [][]byte{raw, a.cert.Raw}, PrivateKey: key, Leaf: leaf}, nil
}

// newSerial is a number that nobody can guess (RFC 5280, 4.1.2.2: at most 20 bytes,
// positive).
func newSerial() (*big.Int, error) {
	b := make([]byte, 16)
	if _, err := rand.Read(b); err != nil {
		return nil, fmt.Errorf("chance for HTTPS: %w", err)
	}
	b[0] = b[0]&0x7f | 0x40
	return new(big.Int).SetBytes(b), nil
}

// namePattern is a computer's name as certificates have it, in lower case.
var namePattern = regexp.MustCompile(`^[a-z0-9_]([a-z0-9_-]*[a-z0-9])?(\.[a-z0-9_]([a-z0-9_-]*[a-z0-9])?)*$`)

// HostNames are the names that a computer goes by in its network: as it calls itself,
// the first part of that, that as neighbours find it (RFC 6762, 3), and localhost.
func HostNames(hostname string) []string {
	whole := strings.Trim(strings.ToLower(hostname), ".")
	short, _, _ := strings.Cut(whole, ".")
	var names []string
	for _, n := range []string{whole, short, short + ".local", "localhost"} {
		if namePattern.MatchString(n) && !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return names
}

// IsName reports whether a text is a computer's name that a certificate can have.
func IsName(s string) bool { return len(s) <= 253 && namePattern.MatchString(s) }
