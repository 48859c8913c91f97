package trust

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"
	"sync"
	"time"
)

// Files shows the shop's own certificate, from files that someone else renews.
type Files struct {
	cert, key string
	failed    func(error)

	mu    sync.Mutex
	shown *tls.Certificate
	as    [2]stamp // of the files when they were last read
}

// stamp says whether a file is as it was.
type stamp struct {
	changed time.Time
	size    int64
}

// NewFiles shows the certificate in a file, with the key in another, both PEM. When
// they change they are read again; while they then make no sense, as in the middle of
// a renewal, the last that did are shown and failed is called, once for each change.
// It fails where the files make no sense now.
func NewFiles(cert, key string, failed func(error)) (*Files, error) {
	f := &Files{cert: cert, key: key, failed: failed}
	f.as = f.stamps()
	return f, f.read()
}

// Authority is nil: devices trust the shop's own certificate already, or the shop sees
// to it.
func (f *Files) Authority() *x509.Certificate { return nil }

// Certificate is what the files hold now. It never fails: the last that made sense
// stays.
func (f *Files) Certificate() (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if now := f.stamps(); now != f.as {
		f.as = now
		if err := f.read(); err != nil {
			f.failed(err)
		}
	}
	return f.shown, nil
}

func (f *Files) read() error {
	pair, err := tls.LoadX509KeyPair(f.cert, f.key)
	if err != nil {
		return fmt.Errorf("the certificate in %s with the key in %s: %w", f.cert, f.key, err)
	}
	f.shown = &pair
	return nil
}

func (f *Files) stamps() (out [2]stamp) {
	for i, name := range []string{f.cert, f.key} {
		if st, err := os.Stat(name); err == nil { // one that is gone counts as changed
			out[i] = stamp{st.ModTime(), st.Size()}
		}
	}
	return out
}
