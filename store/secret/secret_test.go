package secret_test

import (
	"crypto/tls"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"tallywalk/store/secret"
)

func of(t *testing.T, text string) *secret.Secret {
	t.Helper()
	s, err := secret.Of(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const text = "a text that only tests know"

// Whoever lacks the text is refused, whichever end it is, and whatever certificate of its own it has.
func TestOnlyTheSameSecret(t *testing.T) {
	ours, same, other := of(t, text), of(t, "  "+text+"\n"), of(t, text+"!")
	anonymous := &tls.Config{InsecureSkipVerify: true}
	for what, c := range map[string]struct {
		client *tls.Config
		works  bool
	}{
		"the same text": {same.TLS(), true}, "another text": {other.TLS(), false},
		"no certificate": {anonymous, false},
	} {
		if err := exchange(t, ours.TLS(), c.client); (err == nil) != c.works {
			t.Errorf("%s: %v, want it to work: %v", what, err, c.works)
		}
	}
	if err := exchange(t, other.TLS(), ours.TLS()); err == nil ||
		!strings.Contains(err.Error(), "another secret") {
		t.Errorf("a server with another secret is taken: %v", err)
	}
	if (*secret.Secret)(nil).TLS() != nil {
		t.Error("without a secret there is TLS")
	}
}

// exchange sends one byte each way and gives what the client has to say.
func exchange(t *testing.T, server, client *tls.Config) error {
	t.Helper()
	l, err := tls.Listen("tcp", "127.0.0.1:0", server)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	go func() {
		if c, err := l.Accept(); err == nil {
			_, _ = io.CopyN(c, c, 1)
			_ = c.Close()
		}
	}()
	c, err := tls.Dial("tcp", l.Addr().String(), client)
	if err != nil {
		return err
	}
	defer c.Close()
	if _, err := c.Write([]byte{1}); err != nil {
		return err
	}
	_, err = io.ReadFull(c, make([]byte, 1))
	return err
}

func TestFiles(t *testing.T) {
	dir := t.TempDir()
	made, short, open := filepath.Join(dir, "made"), filepath.Join(dir, "short"), filepath.Join(dir, "open")
	if err := secret.Make(made); err != nil {
		t.Fatal(err)
	}
	first, err := os.ReadFile(made)
	if err != nil || len(strings.TrimSpace(string(first))) != 43 {
		t.Fatalf("what was made is %d characters, %v; want 43", len(first)-1, err)
	}
	if _, err := secret.Read(made); err != nil {
		t.Error(err)
	}
	if err := secret.Make(made); err == nil {
		t.Error("a secret was written over")
	}
	if after, _ := os.ReadFile(made); string(after) != string(first) {
		t.Error("the secret is another")
	}
	for file, mode := range map[string]os.FileMode{short: 0o600, open: 0o644} {
		body := text
		if file == short {
			body = "12345"
		}
		if err := os.WriteFile(file, []byte(body), mode); err != nil {
			t.Fatal(err)
		}
	}
	for file, want := range map[string]string{
		short: "24 are the minimum", open: "chmod 600", filepath.Join(dir, "none"): "--new-secret",
	} {
		if runtime.GOOS == "windows" && file == open {
			continue // its files have no such bits
		}
		_, err := secret.Read(file)
		if err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "12345") {
			t.Errorf("%s: %v, want %q and nothing of what is in it", file, err, want)
		}
	}
}
