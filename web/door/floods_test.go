package door_test

import (
	"fmt"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// Two hundred guesses at once from one address cost ten hashes; the rest are
// turned away. Whoever signs in from elsewhere, under the very name that is
// guessed, and whoever scans, does not wait for them.
func TestGuessesAreLimited(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	admin := r.As(traveler.RoleAdministrator)
	admin.Do(
		"POST", "/api/v1/accounts",
		map[string]any{"name": "Ada", "password": "long enough for this", "role": "planner"}, nil,
	)
	var wg sync.WaitGroup
	seen, status := map[int]int{}, make(chan int, 200)
	for i := range 200 {
		wg.Go(func() {
			name := "Ada"
			if i%2 == 1 {
				name = fmt.Sprint("nobody ", i)
			}
			status <- r.Do(
				"POST", "/api/v1/sign-in", map[string]any{"name": name, "password": "guess guess guess"}, nil,
			)
		})
	}
	if got := r.From("127.0.0.2").Do(
		"POST", "/api/v1/sign-in", map[string]any{"name": "Ada", "password": "long enough for this"}, nil,
	); got != 200 {
		t.Errorf("the honest one: %d", got)
	}
	if a := admin.Scan(
		webtest.Said{"station": "T1", "card": "W-501", "action": "setup"},
	)[0]; a.Outcome != "kept" {
		t.Errorf("a scan meanwhile: %+v", a)
	}
	wg.Wait()
	close(status)
	for s := range status {
		seen[s]++
	}
	if hashed := seen[401]; seen[401]+seen[429] != 200 || hashed < 5 || hashed > 40 {
		t.Errorf("two hundred guesses were answered %v", seen)
	}
}

// Codes that enrol a station, and the first link, are guessed no faster.
func TestCodesAreNotGuessed(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	var enrol struct{ Code string }
	r.As(traveler.RoleAdministrator).Do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet"},
		&enrol)
	seen := map[int]int{}
	for i := range 40 {
		path, body := "/api/v1/enrol", map[string]any{"code": fmt.Sprintf("AAAA-%04d", i)}
		if i%2 == 1 {
			path, body = "/api/v1/first", map[string]any{
				"code": fmt.Sprintf("AAAA-%04d", i), "name": "x", "password": "x",
			}
		}
		seen[r.Visitor().Do("POST", path, body, nil)]++
	}
	if seen[401]+seen[429] != 40 || seen[401] < 10 || seen[401] > 20 {
		t.Errorf("forty guesses were answered %v", seen)
	}
	if got := r.From("127.0.0.2").Do(
		"POST", "/api/v1/enrol", map[string]any{"code": enrol.Code}, nil,
	); got != 200 {
		t.Errorf("the right code from elsewhere: %d", got)
	}
}

// forwarded guesses a code, with what a proxy would say of where it comes from.
func forwarded(r *webtest.Rig, by string) int {
	r.T.Helper()
	req, err := http.NewRequest("POST", r.Base+"/api/v1/enrol", strings.NewReader(`{"code":"AAAA-AAAA"}`))
	if err != nil {
		r.T.Fatal(err)
	}
	req.Header.Set("X-Forwarded-For", by)
	req.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		r.T.Fatal(err)
	}
	_ = resp.Body.Close()
	return resp.StatusCode
}

// The address is the connection's own; what is said of it is believed of a proxy
// that was named, and of that the last that it saw.
func TestAddressBehindAProxy(t *testing.T) {
	t.Parallel()
	for _, named := range []bool{false, true} {
		o := webtest.Options{Empty: true}
		if named {
			o.Proxies = []netip.Addr{netip.MustParseAddr("127.0.0.1")}
		}
		r := webtest.New(t, o)
		last := 0
		for i := range 30 {
			// The first is what the client says of itself.
			last = forwarded(r, fmt.Sprintf("10.9.%d.1, 10.0.0.7", i))
		}
		if last != 429 {
			t.Errorf("named %v: thirty guesses that name themselves otherwise each time: %d", named, last)
		}
		want := 429
		if named {
			want = 401
		}
		if got := forwarded(r, "10.0.0.7, 10.0.0.8"); got != want {
			t.Errorf("named %v: another behind the proxy: %d, want %d", named, got, want)
		}
	}
}
