package webtest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"sync/atomic"
	"testing"
	"time"
)

// Client asks a server. What it sends and gets is held to the description of the
// API. It does not follow to other addresses by itself.
type Client struct {
	T     testing.TB
	Base  string       // http://127.0.0.1:port
	Token string       // that requests are made with; empty = none
	HTTP  *http.Client // nil = one without cookies
}

// stay is what is done where an answer leads elsewhere.
func stay(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }

// Visitor is someone else, who keeps cookies as a browser does.
func (c *Client) Visitor() *Client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		c.T.Fatal(err)
	}
	n := *c
	n.HTTP = &http.Client{Jar: jar, CheckRedirect: stay}
	return &n
}

// Do makes a request and gives the status of its answer. A body that is no string
// is sent as JSON; a JSON answer goes into v, if v is not nil.
func (c *Client) Do(method, path string, body, v any) int {
	c.T.Helper()
	var sent []byte
	switch b := body.(type) {
	case nil:
	case string:
		sent = []byte(b)
	default:
		var err error
		if sent, err = json.Marshal(b); err != nil {
			c.T.Fatal(err)
		}
	}
	req, err := http.NewRequest(method, c.Base+path, bytes.NewReader(sent))
	if err != nil {
		c.T.Fatal(err)
	}
	if sent != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	status, raw := c.Send(req, sent)
	if v != nil {
		if err := json.Unmarshal(raw, v); err != nil {
			c.T.Fatalf("%s %s: %d: %v: %s", method, path, status, err, raw)
		}
	}
	return status
}

// Send sends a request, whose body is sent, and gives the status and the whole of
// the answer.
func (c *Client) Send(req *http.Request, sent []byte) (status int, got []byte) {
	c.T.Helper()
	if c.Token != "" {
		req.Header.Set("Authorization", "Bearer "+c.Token)
	}
	client := c.HTTP
	if client == nil {
		client = &http.Client{CheckRedirect: stay}
	}
	resp, err := client.Do(req)
	if err != nil {
		c.T.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		c.T.Fatal(err)
	}
	HoldToContract(c.T, req, sent, resp, raw)
	return resp.StatusCode, raw
}

// Refused is the detail of the refusal that a request must get.
func (c *Client) Refused(method, path string, body any, status int) string {
	c.T.Helper()
	var p struct{ Detail string }
	if got := c.Do(method, path, body, &p); got != status {
		c.T.Errorf("%s %s %v: %d, want %d: %s", method, path, body, got, status, p.Detail)
	}
	return p.Detail
}

// Card is the code of the batch of a works order.
func (c *Client) Card(order string) string {
	c.T.Helper()
	var b struct{ Card string }
	if status := c.Do("GET", "/api/v1/batches/"+order, nil, &b); status != http.StatusOK {
		c.T.Fatalf("batch %s: status %d", order, status)
	}
	return b.Card
}

var idCount atomic.Uint64

// NewID is an id that no other test uses.
func NewID() string {
	return fmt.Sprintf("%08x-0000-7000-8000-%012x", os.Getpid(), idCount.Add(1))
}

// Said is a scan as a program sends it.
type Said map[string]any

// Answer is what came of a scan.
type Answer struct {
	ID, Outcome, Say string
	Again, Offer     bool
	Seq, Status      int
	Now              *struct {
		Card, State                                           string
		Started, Good, Scrap, Rework, Review, Missing, Wanted int
		Visits                                                []struct {
			Visit, Machine, State  string
			Operation, Good, Scrap int
			Inferred               []string
			Finished, Arrived      *time.Time
			TransportS             *float64 `json:"transport_s"`
			QueueS                 *float64 `json:"queue_s"`
			BetweenS               *float64 `json:"between_s"`
			SetupS                 float64  `json:"setup_s"`
			RunS                   float64  `json:"run_s"`
			WalkM                  float64  `json:"walk_m"`
		}
		Questions []struct {
			Question, Kind, Known string
			Choices               []string
		}
	}
}

// Scan sends scans and gives the answers. What has no id gets one, and what has no
// time happens now.
func (c *Client) Scan(scans ...Said) []Answer {
	c.T.Helper()
	for _, s := range scans {
		if s["id"] == nil {
			s["id"] = NewID()
		}
		if s["at"] == nil {
			s["at"] = time.Now().UTC().Format(time.RFC3339Nano)
		}
	}
	var out struct{ Results []Answer }
	if status := c.Do("POST", "/api/v1/scans", map[string]any{"scans": scans},
		&out); status != http.StatusOK {
		c.T.Fatalf("scans: status %d", status)
	}
	return out.Results
}
