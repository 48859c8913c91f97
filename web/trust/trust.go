// Package trust lets a server speak TLS without an IT department: a private
// authority of the shop's own, certificates by it that renew themselves, or the
// shop's own files, and one port for TLS and plain HTTP.
//
// # Decisions, with their reasons
//
//   - The authority is constrained, critically, to private addresses and to the names
//     that the server had when it was made (RFC 5280, 4.2.1.10): whoever steals its key
//     can pretend to be this shop's server inside such a network, and nobody's bank. A
//     changed address needs no new trust; a new name does.
//   - Authority and key are one file in a folder of their own: a copy of the record
//     carries no key.
//   - The server's own certificate is made when it is needed and kept in memory only. It
//     holds for less than 398 days, the longest that browsers take, and 30 of them lie
//     in the past, for tablets whose clock is behind. It is looked at when someone
//     connects, so nothing runs by the clock.
//   - What speaks, the first byte says: 22 begins a TLS record (RFC 8446, 5.1) and no
//     method of HTTP. It is read where the first request is read, under its deadline,
//     so a silent client holds up nobody.
package trust

import (
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"strings"
	"time"
)

// Holder has the certificate that a server shows. It is safe for concurrent use.
type Holder interface {
	// Certificate is what the server shows now; its Leaf is set. It fails where one
	// has to be made and can't be.
	Certificate() (*tls.Certificate, error)
	// Authority is what a device must trust; nil where the shop sees to that itself.
	Authority() *x509.Certificate
}

// Fingerprint is the SHA-256 of a certificate, in upper-case hex, in groups of four
// to be compared by eye.
func Fingerprint(c *x509.Certificate) string {
	sum := sha256.Sum256(c.Raw)
	text := strings.ToUpper(hex.EncodeToString(sum[:]))
	var groups []string
	for ; text != ""; text = text[4:] {
		groups = append(groups, text[:4])
	}
	return strings.Join(groups, " ")
}

// PEM is a certificate as devices take it in (RFC 7468, 5).
func PEM(c *x509.Certificate) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: c.Raw})
}

// Span is the time in which a device can believe a certificate: what its own dates and
// those of its authority have in common. It fails as the holder does.
func Span(h Holder) (from, until time.Time, err error) {
	shown, err := h.Certificate()
	if err != nil {
		return from, until, err
	}
	from, until = shown.Leaf.NotBefore, shown.Leaf.NotAfter
	if a := h.Authority(); a != nil {
		from, until = later(from, a.NotBefore), earlier(until, a.NotAfter)
	}
	return from, until, nil
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
