// Package secret is what the machines of one shop know each other by: one text in a file that each of them
// has.
//
// A key and a certificate are made of the text, the same on every machine, and both ends of a connection want
// to see exactly that certificate. So nobody who lacks the text gets in, nobody between two machines can read
// along, the text itself never travels, and there is no authority to keep and no date on which it all stops.
package secret

import (
	"crypto/ed25519"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"os"
	"runtime"
	"strings"
	"time"
)

// minLength is how many characters a secret has at least; what Make writes has 43.
const minLength = 24

// Secret is one text, as the key and the certificate that are made of it.
type Secret struct {
	key  ed25519.PrivateKey
	cert []byte
}

// Of makes a Secret of its text. It fails when the text is shorter than 24 characters.
func Of(text string) (*Secret, error) {
	text = strings.TrimSpace(text)
	if len(text) < minLength {
		return nil, fmt.Errorf("the secret has %d characters, %d are the minimum; `tallywalk engine "+
			"--new-secret FILE` makes a good one",
			len(text), minLength)
	}
	seed, err := hkdf.Key(sha256.New, []byte(text), nil, "tallywalk: machines of one record",
		ed25519.SeedSize)
	if err != nil {
		return nil, fmt.Errorf("a key cannot be made of the secret: %w", err)
	}
	s := &Secret{key: ed25519.NewKeyFromSeed(seed)}
	// The dates are for the format alone: nobody looks at them.
	form := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "tallywalk"},
		DNSNames:  []string{"tallywalk"},
		NotBefore: time.Unix(0, 0), NotAfter: time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC),
	}
	s.cert, err = x509.CreateCertificate(rand.Reader, form, form, s.key.Public(), s.key)
	if err != nil {
		return nil, fmt.Errorf("a certificate cannot be made of the secret: %w", err)
	}
	return s, nil
}

// Read takes the secret from its file. It fails when the file cannot be read, when other accounts of the
// computer may read it (not on Windows, where that is not said in these bits), or when the secret is too
// short.
func Read(file string) (*Secret, error) {
	info, err := os.Stat(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no file %s; make the secret on one machine with `tallywalk "+
			"engine --new-secret %s`"+
			" and copy it to the others", file, file)
	}
	if err != nil {
		return nil, err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("other accounts of this computer may read %s; keep it to its owner: chmod "+
			"600 %s", file, file)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return Of(string(text))
}

// Make writes a new secret of 256 bits into a file that is not there yet, for its owner alone. It fails when
// the file is there, or cannot be written.
func Make(file string) error {
	f, err := os.OpenFile(file, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already; a secret is never written over, since all machines would "+
			"have to change it together", file)
	}
	if err != nil {
		return err
	}
	text := make([]byte, 32)
	_, _ = rand.Read(text) // never fails
	_, err = fmt.Fprintln(f, base64.RawURLEncoding.EncodeToString(text))
	return errors.Join(err, f.Sync(), f.Close())
}

// TLS is how a machine that has the secret speaks to others that have it, whichever of the two began. A nil
// Secret has none.
func (s *Secret) TLS() *tls.Config {
	if s == nil {
		return nil
	}
	return &tls.Config{
		Certificates:       []tls.Certificate{{Certificate: [][]byte{s.cert}, PrivateKey: s.key}},
		MinVersion:         tls.VersionTLS13,
		ClientAuth:         tls.RequireAnyClientCert,
		InsecureSkipVerify: true, // names and dates mean nothing here; VerifyConnection wants the very key
		VerifyConnection:   s.same,
	}
}

var errOther = errors.New("the other machine has another secret: all machines of a record need the same file")

// same wants the other end to have the key of this secret.
func (s *Secret) same(c tls.ConnectionState) error {
	if len(c.PeerCertificates) == 0 ||
		!s.key.Public().(ed25519.PublicKey).Equal(c.PeerCertificates[0].PublicKey) {
		return errOther
	}
	return nil
}
