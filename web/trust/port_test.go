package trust

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// answering serves both on a loopback port, and says which was spoken.
func answering(t *testing.T, h Holder) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := &http.Server{
		Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.Context().Value(spoken{}).(*Conn).Encrypted() {
				_, _ = io.WriteString(w, "tls "+r.URL.Path)
				return
			}
			_, _ = io.WriteString(w, "plain "+r.URL.Path)
		}),
		ConnContext: withConn,
	}
	done := make(chan error, 1)
	go func() { done <- srv.Serve(Both(ln, h)) }()
	t.Cleanup(func() {
		if err := srv.Close(); err != nil {
			t.Error(err)
		}
		if err := <-done; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	})
	return ln.Addr().String()
}

func trusting(a *Authority) *http.Client {
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	return &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
}

func body(t *testing.T, c *http.Client, url string) string {
	t.Helper()
	resp, err := c.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(resp.Body)
	if err != nil || resp.Body.Close() != nil {
		t.Fatal(err)
	}
	return string(b)
}

// One port speaks both. Clients that connect and say nothing, or a part of something,
// hold up nobody.
func TestBothOnOnePort(t *testing.T) {
	t.Parallel()
	a, err := OpenAuthority(t.TempDir(), []string{"localhost"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	l := NewLocal(a, Place{func() []string { return []string{"localhost"} }, OwnAddresses}, time.Now)
	addr := answering(t, l)
	for _, begins := range []string{"", "G", "\x16", "\x16\x03\x01"} {
		for range 50 {
			c, err := net.Dial("tcp", addr)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = c.Close() })
			if _, err := io.WriteString(c, begins); err != nil {
				t.Fatal(err)
			}
		}
	}
	client := trusting(a)
	if got := body(t, client, "https://"+addr+"/x"); got != "tls /x" {
		t.Error(got)
	}
	if got := body(t, client, "http://"+addr+"/y"); got != "plain /y" {
		t.Error(got)
	}
	if c, err := tls.Dial("tcp", addr, nil); err == nil {
		t.Errorf("trusted by one who does not know the authority: %v", c.Close())
	}
	if got := body(t, client, "https://"+addr+"/z"); got != "tls /z" {
		t.Error(got)
	}
}

// A connection that says nothing ends by the deadline of who reads; nothing is written
// to one of which nobody knows what it speaks.
func TestSilentConnection(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		here, there := net.Pipe()
		c := &Conn{Conn: here}
		if err := c.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
			t.Fatal(err)
		}
		if _, err := c.Read(make([]byte, 10)); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("read: %v", err)
		}
		if _, err := c.Write([]byte("HTTP/1.1 408")); !errors.Is(err, errSilent) || c.Encrypted() {
			t.Errorf("written: %v", err)
		}
		_, _ = c.Close(), there.Close()
	})
}

// What comes byte by byte is the same.
func TestByteByByte(t *testing.T) {
	t.Parallel()
	a, err := OpenAuthority(t.TempDir(), []string{"localhost"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	addr := answering(t, NewLocal(a, Place{func() []string { return nil }, OwnAddresses}, time.Now))
	c, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = c.Close() }()
	for _, b := range []byte("GET /slow HTTP/1.1\r\nHost: x\r\n\r\n") {
		if _, err := c.Write([]byte{b}); err != nil {
			t.Fatal(err)
		}
	}
	resp, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		t.Fatal(err)
	}
	if b, err := io.ReadAll(resp.Body); err != nil || resp.Body.Close() != nil || string(b) != "plain /slow" {
		t.Errorf("%s %v", b, err)
	}
}

// writePair writes a certificate with its key as two files.
func writePair(t *testing.T, a *Authority, cert, key, name string) {
	t.Helper()
	c, err := a.issue([]string{name}, nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	raw, err := x509.MarshalPKCS8PrivateKey(c.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	if cert != "" {
		if err := os.WriteFile(cert, PEM(c.Leaf), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(key, pemKey(raw), 0o600); err != nil {
		t.Fatal(err)
	}
}

// Files are read again when they change; while they make no sense the last that did
// are shown.
func TestFiles(t *testing.T) {
	t.Parallel()
	a, _ := shop(t)
	dir := t.TempDir()
	cert, key := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	var failed []string
	fail := func(err error) { failed = append(failed, err.Error()) }
	if _, err := NewFiles(cert, key, fail); err == nil {
		t.Error("files that are not there")
	}
	writePair(t, a, cert, key, "one")
	f, err := NewFiles(cert, key, fail)
	if err != nil {
		t.Fatal(err)
	}
	if got := shown(t, f).Leaf.DNSNames; got[0] != "one" || f.Authority() != nil {
		t.Error(got)
	}
	writePair(t, a, "", key, "another key, which does not fit")
	soon := time.Now().Add(time.Hour)
	touch := func(name string) {
		soon = soon.Add(time.Second)
		if err := os.Chtimes(name, soon, soon); err != nil {
			t.Fatal(err)
		}
	}
	touch(key)
	if shown(t, f); shown(t, f).Leaf.DNSNames[0] != "one" || len(failed) != 1 ||
		!strings.Contains(failed[0], "key.pem") {
		t.Errorf("%q", failed)
	}
	writePair(t, a, cert, key, "two")
	touch(cert)
	if got := shown(t, f).Leaf.DNSNames; got[0] != "two" || len(failed) != 1 {
		t.Errorf("%v %q", got, failed)
	}
}

// spoken is the key of a request's connection.
type spoken struct{}

func withConn(ctx context.Context, c net.Conn) context.Context {
	return context.WithValue(ctx, spoken{}, c)
}

func pemKey(raw []byte) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: raw})
}

// TLS 1.2 and 1.3 are spoken, the newest first, and with ciphers that keep secrecy for
// later; nothing older (RFC 8996), nothing else (RFC 9325, 4.2).
func TestOldVersionsOfTLS(t *testing.T) {
	t.Parallel()
	a, err := OpenAuthority(t.TempDir(), []string{"localhost"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	addr := answering(t,
		NewLocal(a, Place{func() []string { return []string{"localhost"} }, OwnAddresses}, time.Now))
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	for _, c := range []struct {
		from, to uint16
		ciphers  []uint16
		want     uint16 // 0 is none
	}{
		{tls.VersionTLS10, tls.VersionTLS13, nil, tls.VersionTLS13},
		{tls.VersionTLS10, tls.VersionTLS12, nil, tls.VersionTLS12},
		{tls.VersionTLS10, tls.VersionTLS11, nil, 0},
		{tls.VersionTLS12, tls.VersionTLS12, []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256},
			tls.VersionTLS12},
		{tls.VersionTLS12, tls.VersionTLS12,
			[]uint16{tls.TLS_RSA_WITH_AES_128_GCM_SHA256, tls.TLS_RSA_WITH_3DES_EDE_CBC_SHA}, 0},
	} {
		conn, err := tls.Dial("tcp", addr, &tls.Config{
			RootCAs: roots, ServerName: "localhost", MinVersion: c.from, MaxVersion: c.to,
			CipherSuites: c.ciphers,
		})
		got := uint16(0)
		if err == nil {
			got = conn.ConnectionState().Version
			_ = conn.Close()
		}
		if got != c.want {
			t.Errorf("%x to %x with %v: %x, want %x: %v", c.from, c.to, c.ciphers, got, c.want, err)
		}
	}
}
