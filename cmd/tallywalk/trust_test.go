package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallywalk/web/trust"
)

// trusting is a browser without its screen that trusts the rig's authority and keeps
// cookies, and its root alone.
func (r *rig) trusting() *http.Client {
	r.t.Helper()
	text, err := os.ReadFile(filepath.Join(r.dir, authorityDir, "authority.crt"))
	if err != nil {
		r.t.Fatal(err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(text) {
		r.t.Fatalf("no certificate: %s", text)
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		r.t.Fatal(err)
	}
	return &http.Client{
		Jar: jar, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// plain is the same server over plain HTTP.
func (r *rig) plain() string { return "http://" + strings.TrimPrefix(r.base, "https://") }

// reply is what an address answers.
type reply struct {
	status  int
	header  http.Header
	cookies []*http.Cookie
	body    string
}

// asked asks an address; headers are pairs, of which Host is the request's own.
func asked(t *testing.T, c *http.Client, method, url, body string, headers ...string) reply {
	t.Helper()
	req, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	req.Host = req.Header.Get("Host")
	resp, err := c.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(resp.Body)
	if cerr := resp.Body.Close(); err != nil || cerr != nil {
		t.Fatal(err, cerr)
	}
	return reply{resp.StatusCode, resp.Header, resp.Cookies(), string(b)}
}

const wantsHTML = "text/html,application/xhtml+xml"

// Over plain HTTP people are led to TLS, and devices are not: what they keep belongs to
// the address they have. What was posted is posted again (RFC 9110, 15.4.9).
func TestPlainLeadsToTLS(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{tls: tlsLocal, hosts: []string{"shop.example"}})
	c := r.trusting()
	for _, x := range []struct{ method, path, accept, to string }{
		{"GET", "/s/ABC/20?x=1", "", r.base + "/s/ABC/20?x=1"},
		{"GET", "/waits", "*/*", r.base + "/waits"},
		{"HEAD", "/", "", r.base + "/"},
		{"GET", "/s/ABC?x=1", wantsHTML, "/trust?next=%2Fs%2FABC%3Fx%3D1"},
		{"GET", "//evil.test/x", "", r.base + "/evil.test/x"},
		{"POST", "/api/v1/sign-in", "", r.base + "/api/v1/sign-in"},
		{"POST", "/api/v1/first", "", r.base + "/api/v1/first"},
	} {
		got := asked(t, c, x.method, r.plain()+x.path, "{}", "Accept", x.accept)
		want := map[bool]int{true: http.StatusPermanentRedirect,
			false: http.StatusTemporaryRedirect}[x.method == "POST"]
		if got.status != want || got.header.Get("Location") != x.to {
			t.Errorf("%s %s: %d to %s", x.method, x.path, got.status, got.header.Get("Location"))
		}
	}
	got := asked(t, c, "POST", r.plain()+"/api/v1/scans", `{"scans":[]}`, "Authorization", "Bearer 123")
	if got.status != http.StatusPermanentRedirect {
		t.Errorf("a token over plain HTTP: %d", got.status)
	}
	for path, status := range map[string]int{
		"/trust": 200, "/trust/state": 200, "/trust/tallywalk.crt": 200, "/station": 200, "/healthz": 200,
		"/readyz":    200,
		"/api/v1/me": 401, "/wall/none": 401, "/trustworthy": 307, "/stations": 307,
	} {
		if got := asked(t, c, "GET", r.plain()+path, ""); got.status != status ||
			got.header.Get("Strict-Transport-Security") != "" {
			t.Errorf("%s: %d", path, got.status)
		}
	}
	answered := asked(t, c, "GET", r.plain()+"/trust/tallywalk.crt", "")
	block, _ := pem.Decode([]byte(answered.body))
	if block == nil || answered.header.Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Fatalf("%v %s", answered.header, answered.body)
	}
	cert, err := x509.ParseCertificate(block.Bytes)
	if err != nil ||
		!strings.Contains(strings.Join(strings.Fields(r.out.String()), " "), trust.Fingerprint(cert)) {
		t.Errorf("the console says another fingerprint: %v\n%s", err, r.out)
	}
	for host, status := range map[string]int{"shop.example": 200, "localhost": 200, "10.1.2.3": 200,
		"elsewhere.test": 403} {
		if got := asked(t, c, "GET", r.base+"/healthz", "", "Host", host); got.status != status {
			t.Errorf("%s: %d", host, got.status)
		}
	}
}

// What is given over TLS goes over TLS alone, and what was given without opens nothing
// there; a page over plain HTTP asks nothing of ours over TLS but whether it is trusted.
func TestCookiesOfBothWays(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{tls: tlsLocal})
	_, link, _ := strings.Cut(r.out.String(), "/first?code=")
	code, _, _ := strings.Cut(link, "\n")
	c := r.trusting()
	first := `{"code":"` + code + `","name":"Ada","password":"long enough for this"}`
	if got := asked(t, c, "POST", r.base+"/api/v1/first", first, "Content-Type", "application/json", "Origin",
		r.plain()); got.status != 403 {
		t.Errorf("from a page over plain HTTP: %d %s", got.status, got.body)
	}
	got := asked(t, c, "POST", r.base+"/api/v1/first", first, "Content-Type", "application/json", "Origin",
		r.base)
	if got.status > 201 || len(got.cookies) != 1 || !got.cookies[0].Secure ||
		got.cookies[0].Name != "__Host-tw_session" {
		t.Fatalf("%d %s %v", got.status, got.body, got.cookies)
	}
	if got := asked(t, c, "GET", r.base+"/api/v1/me", ""); got.status != 200 {
		t.Errorf("signed in: %d", got.status)
	}
	if got := asked(t, c, "GET", r.plain()+"/api/v1/me", ""); got.status != 401 {
		t.Errorf("the cookie went over plain HTTP: %d", got.status)
	}
	secret := got.cookies[0].Value
	for _, x := range []struct {
		base, name string
		status     int
	}{{r.base, "tw_session", 401}, {r.plain(), "__Host-tw_session", 401},
		{r.base, "__Host-tw_session", 200}} {
		if got := asked(t, r.trusting(), "GET", x.base+"/api/v1/me", "", "Cookie",
			x.name+"="+secret); got.status != x.status {
			t.Errorf("%s as %s: %d", x.base, x.name, got.status)
		}
	}
	got = asked(t, c, "POST", r.base+"/api/v1/enrol-codes", `{"name":"Tablet","machine":"T1"}`,
		"Content-Type", "application/json", "Origin", r.base)
	if got.status != 201 {
		t.Fatalf("enrol code: %d %s", got.status, got.body)
	}
	_, given, _ := strings.Cut(got.body, `"code":"`)
	given, _, _ = strings.Cut(given, `"`)
	tablet := r.trusting()
	got = asked(t, tablet, "POST", r.plain()+"/api/v1/enrol", `{"code":"`+given+`"}`, "Content-Type",
		"application/json", "Origin", r.plain())
	if got.status != 200 || got.cookies[0].Secure || got.cookies[0].Name != "tw_station" {
		t.Fatalf("a station over plain HTTP: %d %s", got.status, got.body)
	}
	for url, status := range map[string]int{r.plain() + "/api/v1/me": 200, r.plain() + "/s/ABC": 302,
		r.base + "/api/v1/me": 401} {
		if got := asked(t, tablet, "GET", url, "", "Accept", wantsHTML); got.status != status {
			t.Errorf("the station at %s: %d", url, got.status)
		}
	}
	got = asked(t, c, "POST", r.base+"/api/v1/screens", `{"name":"Wall"}`, "Content-Type", "application/json",
		"Origin", r.base)
	_, wall, _ := strings.Cut(got.body, `"link":"`)
	wall, _, _ = strings.Cut(wall, `"`)
	if screen := r.trusting(); !strings.HasPrefix(wall, r.plain()+"/wall/") ||
		asked(t, screen, "GET", wall, "").status != 302 ||
		asked(t, screen, "GET", r.plain()+"/waits?wall=1", "", "Accept", wantsHTML).status != 200 ||
		asked(t, screen, "GET", r.plain()+"/api/v1/waits", "").status != 200 {
		t.Errorf("a wall screen, which nobody has trust anything: %d %s", got.status, got.body)
	}
	for origin, allowed := range map[string]string{r.plain(): r.plain(), r.base: r.base,
		"http://elsewhere.test": "", "null": ""} {
		got := asked(t, c, "GET", r.base+"/trust/state", "", "Origin", origin)
		if got := got.header.Get("Access-Control-Allow-Origin"); got != allowed {
			t.Errorf("%s may read it: %q", origin, got)
		}
	}
}

// The same authority serves after a restart, copies of the record do not carry it, and a
// folder that holds it alone takes a copy back.
func TestAuthorityApartFromCopies(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{tls: tlsLocal})
	c := r.trusting()
	copies := t.TempDir()
	r.cli("backup", "--to", copies)
	said := r.cli("trust")
	r.stop()
	again := newRig(t, rigOptions{tls: tlsLocal, dir: r.dir})
	if got := asked(t, c, "GET", again.base+"/healthz", ""); got.status != 200 || again.cli("trust") != said {
		t.Errorf("after a restart: %d", got.status)
	}
	files, err := os.ReadDir(copies)
	if err != nil || len(files) != 1 {
		t.Fatalf("%v %v", files, err)
	}
	name := filepath.Join(copies, files[0].Name())
	raw, err := os.ReadFile(name)
	if err != nil || strings.Contains(string(raw), "PRIVATE KEY") {
		t.Errorf("a key in the copy, or none: %v", err)
	}
	moved := filepath.Join(t.TempDir(), "shop")
	if err := os.CopyFS(filepath.Join(moved, authorityDir),
		os.DirFS(filepath.Join(r.dir, authorityDir))); err != nil {
		t.Fatal(err)
	}
	r.dir = moved
	var out, errOut strings.Builder
	h := r.host
	h.ctx, h.out, h.err = t.Context(), &out, &errOut
	if code := run([]string{"restore", name, "--data", moved}, h); code != 0 || r.cli("trust") != said {
		t.Errorf("restored beside the authority: %s", errOut.String())
	}
}

// Cards carry the address as the server is reached: over TLS while it speaks that, under
// the same host and port as before, so that cards of before lead there too.
func TestCardsFollowTLS(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{public: "http://localhost:8080"})
	r.cli("cards", "--out", filepath.Join(t.TempDir(), "cards.pdf"))
	r.stop()
	secured := newRig(t, rigOptions{dir: r.dir, tls: tlsLocal})
	var me struct {
		PublicURL string `json:"public_url"`
	}
	for _, x := range []struct {
		o    rigOptions
		want string
	}{
		{rigOptions{tls: tlsLocal}, "https://localhost:8080"},
		{rigOptions{tls: tlsLocal, public: "https://localhost:8080"}, "https://localhost:8080"},
		{rigOptions{}, "http://localhost:8080"},
	} {
		secured.stop()
		x.o.dir, x.o.open = r.dir, true
		secured = newRig(t, x.o)
		if x.o.tls != "" {
			secured.client = secured.trusting()
		}
		if status := secured.do("GET", "/api/v1/me", nil, &me); status != 200 || me.PublicURL != x.want {
			t.Errorf("%+v: %d %s", x.o, status, me.PublicURL)
		}
	}
	for from, want := range map[string]string{
		"http://shop.example":      "https://shop.example:80",
		"http://shop.example:8080": "https://shop.example:8080",
		"http://shop.example:443":  "https://shop.example", "http://[::1]:8080": "https://[::1]:8080",
	} {
		if got := over(from, true); got != want || from != "http://shop.example" && over(got, false) != from {
			t.Errorf("%s: %s and back %s", from, got, over(got, false))
		}
	}
}

// ownFiles makes a certificate of the shop's own by another program, for a name and for
// this computer, in two files; it gives a client that trusts it.
func ownFiles(t *testing.T, cert, key, name string) *http.Client {
	t.Helper()
	out, err := exec.Command("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt",
		"ec_paramgen_curve:P-256", "-nodes", "-days", "30",
		"-subj", "/CN="+name, "-addext", "subjectAltName=DNS:"+name+",IP:127.0.0.1", "-keyout", key, "-out",
		cert).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	text, err := os.ReadFile(cert)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(text)
	return &http.Client{
		Transport:     &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// A shop's own certificate is shown as it is, also after it was renewed, without a
// restart; the names in it are the server's, and nobody is shown how to trust it.
func TestOwnCertificate(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	cert, key := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	c := ownFiles(t, cert, key, "shop.example")
	r := newRig(t, rigOptions{tls: tlsFiles, cert: cert, key: key})
	for host, status := range map[string]int{"shop.example": 200, "elsewhere.test": 403} {
		if got := asked(t, c, "GET", r.base+"/healthz", "", "Host", host); got.status != status {
			t.Errorf("%s: %d", host, got.status)
		}
	}
	if got := asked(t, c, "GET", r.plain()+"/waits", "", "Accept", wantsHTML); got.status != 307 ||
		got.header.Get("Location") != r.base+"/waits" {
		t.Errorf("%d to %s", got.status, got.header.Get("Location"))
	}
	if got := asked(t, c, "GET", r.base+"/trust/tallywalk.crt", ""); got.status != 404 ||
		strings.Contains(r.out.String(), "fingerprint") {
		t.Errorf("an authority of ours: %d\n%s", got.status, r.out)
	}
	var state struct{ Mode, Fingerprint string }
	if got := asked(t, c, "GET", r.base+"/trust/state", ""); json.Unmarshal([]byte(got.body),
		&state) != nil || state.Mode != "files" || state.Fingerprint != "" {
		t.Errorf("%s", got.body)
	}
	renewed := ownFiles(t, cert, key, "shop.example")
	later := time.Now().Add(time.Hour) // a clock of files may be coarse
	if err := os.Chtimes(cert, later, later); err != nil {
		t.Fatal(err)
	}
	if got := asked(t, renewed, "GET", r.base+"/healthz", ""); got.status != 200 {
		t.Errorf("after the renewal: %d", got.status)
	}
	if resp, err := c.Get(r.base + "/healthz"); err == nil {
		t.Errorf("the old one is shown on: %v", resp.Body.Close())
	}
}
