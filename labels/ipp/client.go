package ipp

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/tls"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"time"

	"tallywalk/traveler/paper"
)

const (
	mostAnswer = 1 << 20 // bytes that are read of an answer
	mediaType  = "application/ipp"
	port       = "631"        // RFC 8010, 4
	usualPath  = "/ipp/print" // of IPP Everywhere (PWG 5100.14)
)

// Client asks printers. The zero value is ready.
type Client struct {
	// Patience is how long a connection and each answer may take; 0 is 15 seconds.
	Patience time.Duration
	id       atomic.Int32
}

var _ paper.Printers = (*Client)(nil)

// ErrKey says that a printer showed another certificate than when it was added.
var ErrKey = errors.New("the printer shows another certificate than when it was added")

// ErrAnswer is an answer that is not one of a printer.
var ErrAnswer = errors.New("what answers there does not speak as a printer does")

// Parse reads an address: ipp or ipps, a host, perhaps a port and a path. It fails for
// what is none, with a sentence for a log.
func Parse(uri string) (*url.URL, error) {
	u, err := url.Parse(strings.TrimSpace(uri))
	if err != nil {
		return nil, fmt.Errorf("%q is no address: %w", uri, err)
	}
	if u.Scheme != "ipp" && u.Scheme != "ipps" || u.Hostname() == "" || u.User != nil || u.RawQuery != "" ||
		u.Fragment != "" || u.Opaque != "" {
		return nil, fmt.Errorf("%q is no address of a printer; use one such as ipp://192.168.1.20/ipp/print",
			uri)
	}
	if u.Port() == "" {
		u.Host = net.JoinHostPort(u.Hostname(), port)
	}
	if strings.Trim(u.Path, "/") == "" {
		u.Path = usualPath
	}
	return u, nil
}

// target is a printer as it is reached.
type target struct {
	uri  string // as the printer is named in requests
	http string
	web  *http.Client
	key  string // of the certificate that it showed
}

func (c *Client) target(at paper.Address) (*target, error) {
	u, err := Parse(at.URI)
	if err != nil {
		return nil, err
	}
	t := &target{uri: u.String()}
	scheme := map[string]string{"ipp": "http", "ipps": "https"}[u.Scheme]
	t.http = scheme + "://" + u.Host + u.EscapedPath()
	patience := c.Patience
	if patience == 0 {
		patience = 15 * time.Second
	}
	t.web = &http.Client{
		Transport: &http.Transport{
			DialContext:            (&net.Dialer{Timeout: patience}).DialContext,
			TLSHandshakeTimeout:    patience,
			ResponseHeaderTimeout:  patience,
			DisableKeepAlives:      true, // a connection that was kept may be dead: nothing is sent twice
			DisableCompression:     true,
			MaxResponseHeaderBytes: 64 << 10,
			TLSClientConfig: &tls.Config{
				MinVersion:         tls.VersionTLS12,
				InsecureSkipVerify: true, // printers vouch for themselves; t.shown holds them to it
				VerifyConnection:   func(s tls.ConnectionState) error { return t.shown(s, at.Key) },
			},
		},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Timeout:       8 * patience,
	}
	return t, nil
}

// shown holds a printer to the certificate that it showed when it was added.
func (t *target) shown(s tls.ConnectionState, known string) error {
	if len(s.PeerCertificates) == 0 {
		return ErrKey
	}
	sum := sha256.Sum256(s.PeerCertificates[0].Raw)
	t.key = hex.EncodeToString(sum[:])
	if known != "" && t.key != known {
		return ErrKey
	}
	return nil
}

// counted is a document on its way; at its end it has gone out whole.
type counted struct {
	r     *bytes.Reader
	whole *atomic.Bool
}

func (d counted) Read(p []byte) (int, error) {
	n, err := d.r.Read(p)
	if d.r.Len() == 0 {
		d.whole.Store(true)
	}
	return n, err
}

// call makes a request of a printer, with a document after it or without. It fails
// with a paper.Refusal when the answer is one; else whole says whether all went out.
func (c *Client) call(ctx context.Context, t *target, operation int, attrs []attribute, job []attribute,
	pdf []byte) (m *message, whole bool, err error) {
	ask := message{code: operation, id: int(c.id.Add(1)), groups: []group{{groupOperation, append([]attribute{
		texts("attributes-charset", tagCharset, "utf-8"),
		texts("attributes-natural-language", tagLanguage, "en"),
		texts("printer-uri", tagURI, t.uri),
	}, attrs...)}}}
	if len(job) > 0 {
		ask.groups = append(ask.groups, group{groupJob, job})
	}
	head := ask.encode()
	var out atomic.Bool
	body := io.MultiReader(bytes.NewReader(head), counted{bytes.NewReader(pdf), &out})
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, t.http, body)
	if err != nil {
		return nil, false, err
	}
	req.ContentLength = int64(len(head) + len(pdf))
	req.Header.Set("Content-Type", mediaType)
	resp, err := t.web.Do(req)
	if err != nil {
		return nil, out.Load(), err
	}
	defer func() { _ = resp.Body.Close() }()
	m, err = answer(resp, ask.id)
	return m, out.Load(), err
}

// answer reads an answer and what it says.
func answer(resp *http.Response, id int) (*message, error) {
	switch {
	case resp.StatusCode == http.StatusUnauthorized, resp.StatusCode == http.StatusForbidden:
		return nil, &paper.Refusal{Trouble: paper.TroubleAccess, Message: resp.Status}
	case resp.StatusCode == http.StatusServiceUnavailable:
		return nil, &paper.Refusal{Trouble: paper.TroubleBusy, Message: resp.Status}
	case resp.StatusCode != http.StatusOK, !strings.HasPrefix(resp.Header.Get("Content-Type"), mediaType):
		return nil, fmt.Errorf("%w: %s, %q", ErrAnswer, resp.Status, clean(resp.Header.Get("Content-Type")))
	}
	b, err := io.ReadAll(io.LimitReader(resp.Body, mostAnswer+1))
	if err != nil {
		return nil, err
	}
	if len(b) > mostAnswer {
		return nil, fmt.Errorf("%w: the answer does not end", ErrAnswer)
	}
	m, err := decode(b)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrAnswer, err)
	}
	if m.id != id {
		return nil, fmt.Errorf("%w: it answers another request", ErrAnswer)
	}
	if m.code >= firstFault {
		return nil, &paper.Refusal{Trouble: refusalOf(m.code),
			Message: m.first(groupOperation).text("status-message"), Code: m.code}
	}
	return m, nil
}
