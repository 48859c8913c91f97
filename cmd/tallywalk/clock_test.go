package main

import (
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/traveler"
)

// Muddle 31 over the running program: the server's clock jumps by three hours.
// Nobody's scan is recorded on a guess, everyone sees why, and it goes on once the
// clock is back, or an administrator says that it is right.
func TestServersClockLeaps(t *testing.T) {
	t.Parallel()
	begun := time.Now()
	var leap atomic.Int64
	r := newRig(t, rigOptions{
		runFrom: func() time.Time { return time.Now().Add(time.Duration(leap.Load())) },
		steady:  func() time.Duration { return time.Since(begun) },
	}).as(traveler.RoleSupervisor)
	var b struct{ Card string }
	r.do("POST", "/api/v1/batches",
		map[string]any{"id": newID(), "part": "1001-04", "route_rev": "1", "pieces": 50}, &b)
	scan := func() int {
		return r.do("POST", "/api/v1/scans", map[string]any{"scans": []any{map[string]any{
			"id": newID(), "at": time.Now().UTC().Format(time.RFC3339Nano), "station": "T1", "card": b.Card,
			"action": "arrive",
		}}}, nil)
	}
	type clock struct{ Doubt string }
	doubt := func() string {
		var c clock
		r.do("GET", "/api/v1/clock", nil, &c)
		return c.Doubt
	}
	if scan() != http.StatusOK || doubt() != "" {
		t.Fatal("a scan before anything happened is not taken")
	}
	leap.Store(int64(3 * time.Hour))
	if got := scan(); got != http.StatusServiceUnavailable {
		t.Errorf("a scan while the clock is in doubt: %d", got)
	}
	if got := r.do("GET", "/readyz", nil, nil); got != http.StatusServiceUnavailable {
		t.Errorf("readyz: %d", got)
	}
	if said := doubt(); !strings.Contains(said, "180 min") {
		t.Errorf("everyone sees %q", said)
	}
	if got := r.do("POST", "/api/v1/clock", map[string]any{"right": true}, nil); got != http.StatusForbidden {
		t.Errorf("a supervisor said that the clock is right: %d", got)
	}
	leap.Store(0)
	if scan() != http.StatusOK || doubt() != "" {
		t.Error("the clock came back, and yet nothing is taken")
	}
	leap.Store(int64(3 * time.Hour))
	if doubt() == "" {
		t.Error("the second leap went by")
	}
	r = r.as(traveler.RoleAdministrator)
	if got := r.do("POST", "/api/v1/clock", map[string]any{"right": true}, nil); got != http.StatusOK {
		t.Errorf("an administrator said that the clock is right: %d", got)
	}
	if scan() != http.StatusOK {
		t.Error("the clock is right, and yet nothing is taken")
	}
}
