package sites_test

import (
	"math"
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/webtest"
)

type past struct {
	Sites, Finished, Started, Good, Scrap, Lines int
	OnTime                                       int     `json:"lines_on_time"`
	Median                                       float64 `json:"median_s"`
	First                                        float64 `json:"first_pass"`
	FirstOf                                      int     `json:"first_pass_pieces"`
	FirstN                                       int     `json:"first_pass_batches"`
}

type counts struct {
	Waits, Late, Works int
	Oldest             *time.Time
}

// own is what a site's own server says of its history.
type own struct {
	Ended, Started, Good, Scrap int
	Lead                        struct {
		P50 float64 `json:"p50_s"`
	}
	OnTime struct {
		Lines  int
		InFull int `json:"lines_on_time"`
	} `json:"on_time"`
}

// group is two shops, and a server that shows them.
type group struct {
	t           *testing.T
	hall, works *webtest.Rig
	shows       *webtest.Rig
}

func newGroup(t *testing.T) *group {
	var now atomic.Pointer[time.Time] // servers read it meanwhile
	set := func(at time.Time) { now.Store(&at) }
	set(time.Date(2026, 11, 17, 5, 0, 0, 0, time.UTC))
	clock := func() time.Time { return *now.Load() }
	g := &group{t: t}
	shop := func(orders ...webtest.Order) *webtest.Rig {
		r := webtest.New(t, webtest.Options{Now: clock}).As(traveler.RoleSupervisor)
		for _, o := range orders {
			r.Play(o, set)
		}
		return r
	}
	g.hall = shop(
		webtest.Order{Name: "W-600", Day: 17, Good: 9, Scrap: 1, Due: "2026-11-18"},
		webtest.Order{Name: "W-601", Day: 24, Good: 5, Due: "2026-11-23", Inspected: 2 * time.Hour},
	)
	set(time.Date(2026, 11, 17, 5, 0, 0, 0, time.UTC))
	// The number of an order may be another's at another site.
	g.works = shop(
		webtest.Order{Name: "W-600", Day: 18, Good: 8, Scrap: 2, Due: "2026-11-18", Inspected: 3 * time.Hour},
		webtest.Order{Name: "W-601", Day: 20, Good: 7, Due: "2026-11-30", Inspected: 4 * time.Hour},
		webtest.Order{Name: "W-602", Day: 25, Good: 6, Due: "2026-11-30", Inspected: 5 * time.Hour},
	)
	set(time.Date(2026, 11, 27, 15, 0, 0, 0, time.UTC))
	g.shows = webtest.New(t, webtest.Options{Now: clock, Empty: true, Sites: []ask.Site{
		site("hall", g.hall, ask.SiteState{Reached: true, AsOf: clock(), Heard: clock(), Servers: 1}),
		site("works", g.works, ask.SiteState{Wrong: []traveler.Msg{{Key: "stream.unheard"}}}),
	}}).As(traveler.RoleWatcher)
	return g
}

func site(name string, r *webtest.Rig, state ask.SiteState) ask.Site {
	return ask.Site{
		Name: name, Desk: r.Desk, Zone: func() *time.Location { return time.UTC },
		State: func() ask.SiteState { return state },
	}
}

func (g *group) get(r *webtest.Rig, path string, v any) {
	g.t.Helper()
	if status := r.Do("GET", path, nil, v); status != http.StatusOK {
		g.t.Fatalf("%s: %d", path, status)
	}
}

const november = "?from=2026-11-01&to=2026-11-27"

// TestHistory holds the figures of sites to those of their own servers, and those of all to
// a sum by hand.
func TestHistory(t *testing.T) {
	t.Parallel()
	g := newGroup(t)
	var v struct {
		Sites []struct {
			Name string
			Past past
		}
		All past
	}
	g.get(g.shows, "/api/v1/sites/history"+november, &v)
	for i, r := range []*webtest.Rig{g.hall, g.works} {
		var o own
		g.get(r, "/api/v1/history"+november, &o)
		p := v.Sites[i].Past
		if p.Finished != o.Ended || p.Started != o.Started || p.Good != o.Good || p.Scrap != o.Scrap ||
			p.Median != o.Lead.P50 ||
			p.Lines != o.OnTime.Lines || p.OnTime != o.OnTime.InFull {
			t.Errorf("%s: %+v; its own server says %+v", v.Sites[i].Name, p, o)
		}
	}
	// By hand. A batch ends with its delivery: hall's at 12:00 and 13:00, works' at 14:00,
	// 15:00 and 16:00, all from 7:00, so the third of five lead times is seven hours. At the lathe 9 of 10,
	// 5 of 5, 8 of 10, 7 of 7 and 6 of 6 were good the first time, at the inspection all 35: 70 of 73. In
	// full and in time were the last two of works.
	a := v.All
	if a.Sites != 2 || a.Finished != 5 || a.Started != 38 || a.Good != 35 || a.Scrap != 3 || a.Lines != 5 ||
		a.OnTime != 2 {
		t.Errorf("all: %+v", a)
	}
	if a.Median != 7*3600 || a.FirstOf != 73 || a.FirstN != 5 || math.Abs(a.First-70.0/73) > 1e-9 {
		t.Errorf("all: %+v", a)
	}
}

// waiting is what waits as the board of a site's own server shows it.
func (g *group) waiting(r *webtest.Rig) (cards map[string]bool, rows int) {
	g.t.Helper()
	var board struct {
		Rows map[string]struct{ Kind, Card string }
	}
	g.get(r, "/api/v1/waits", &board)
	cards = map[string]bool{}
	for _, row := range board.Rows {
		if row.Kind == "wait" {
			cards[row.Card], rows = true, rows+1
		}
	}
	return cards, rows
}

// TestWaits counts what waits as the sites' own servers do.
func TestWaits(t *testing.T) {
	t.Parallel()
	g := newGroup(t)
	var v struct {
		Sites []struct {
			Name    string
			Reached bool
			Newest  *time.Time
			Wrong   []string
			Now     counts
		}
		All counts
	}
	g.get(g.shows, "/api/v1/sites", &v)
	sum := 0
	for i, r := range []*webtest.Rig{g.hall, g.works} {
		s := v.Sites[i]
		cards, rows := g.waiting(r)
		// Its board is made beside what was scanned last.
		for limit := time.Now().Add(30 * time.Second); len(cards) != s.Now.Waits &&
			time.Now().Before(limit); {
			<-time.After(20 * time.Millisecond)
			cards, rows = g.waiting(r)
		}
		if s.Now.Waits != len(cards) || rows == 0 || s.Now.Oldest == nil || s.Newest == nil {
			t.Errorf("%s: %+v, its own server shows %d", s.Name, s.Now, len(cards))
		}
		sum += len(cards)
		var list struct {
			Rows []struct{ Card, Part, Due string }
			Now  counts
		}
		g.get(g.shows, "/api/v1/sites/waits?site="+s.Name, &list)
		if len(list.Rows) != rows || list.Now.Waits != s.Now.Waits {
			t.Errorf("%s: a list of %d, not %d", s.Name, len(list.Rows), rows)
		}
	}
	if v.All.Waits != sum || !v.Sites[0].Reached || v.Sites[1].Reached || len(v.Sites[1].Wrong) != 1 {
		t.Errorf("%+v", v)
	}
}

// TestCompare holds the routes of sites to the comparisons of their own servers.
func TestCompare(t *testing.T) {
	t.Parallel()
	g := newGroup(t)
	var parts struct {
		Parts []struct {
			Part  string
			Sites []string
		}
	}
	g.get(g.shows, "/api/v1/sites/parts", &parts)
	if len(parts.Parts) == 0 || len(parts.Parts[0].Sites) != 2 {
		t.Fatalf("%+v", parts)
	}
	var v struct {
		Routes []struct {
			Site    string
			Batches int
			EachMin float64 `json:"each_min"`
			Against []struct {
				Figure     string
				Difference struct{ Value *float64 }
			}
		}
	}
	g.get(g.shows, "/api/v1/sites/compare?part=1002-11&size=10", &v)
	if len(v.Routes) != 2 || v.Routes[0].Batches != 2 || v.Routes[1].Batches != 3 ||
		len(v.Routes[0].Against) != 0 {
		t.Fatalf("%+v", v)
	}
	for i, r := range []*webtest.Rig{g.hall, g.works} {
		var o struct {
			Routes []struct {
				Batches int
				Result  struct {
					EachMin float64 `json:"each_min"`
				}
			}
		}
		g.get(r, "/api/v1/compare?part=1002-11&size=10", &o)
		if got, want := v.Routes[i], o.Routes[0]; got.Batches != want.Batches ||
			got.EachMin != want.Result.EachMin {
			t.Errorf("%s: %+v; its own server says %+v", got.Site, got, want)
		}
	}
	for _, d := range v.Routes[1].Against {
		if d.Figure == "cost" {
			t.Error("money of two sites is compared")
		}
		if d.Figure == "minutes" &&
			math.Abs(*d.Difference.Value-(v.Routes[1].EachMin-v.Routes[0].EachMin)) > 1e-6 {
			t.Errorf("%s: %v, of %v and %v", d.Figure, *d.Difference.Value, v.Routes[1].EachMin,
				v.Routes[0].EachMin)
		}
	}
}

// TestRefused asks for what there is not.
func TestRefused(t *testing.T) {
	t.Parallel()
	g := newGroup(t)
	for path, want := range map[string]int{
		"/api/v1/sites/waits?site=other":                      http.StatusNotFound,
		"/api/v1/sites/history?from=2026-11-20&to=2026-11-01": http.StatusBadRequest,
		"/api/v1/sites/history?from=yesterday":                http.StatusBadRequest,
		"/api/v1/sites/compare?part=none":                     http.StatusBadRequest,
		"/api/v1/sites/compare":                               http.StatusBadRequest,
		"/api/v1/sites/compare?part=1002-11&size=1000000":     http.StatusBadRequest,
	} {
		if status := g.shows.Do("GET", path, nil, nil); status != want {
			t.Errorf("%s: %d, not %d", path, status, want)
		}
	}
	if status := g.hall.Do("GET", "/api/v1/sites", nil, nil); status != http.StatusNotFound {
		t.Errorf("a shop's own server: %d", status)
	}
}
