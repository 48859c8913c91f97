package main

import (
	"fmt"
	"math"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tallywalk/cmd/tallywalk/demo"
)

// seldomMade is the parts of a family by their name, and one of them that is made seldom.
func (r *rig) seldomMade(family string) (parts []string, one string) {
	r.t.Helper()
	var s struct {
		Parts []struct {
			Part string
			Name string `json:"part_name"`
		}
	}
	r.do("GET", "/api/v1/shop", nil, &s)
	ended := map[string]int{}
	for _, p := range s.Parts {
		if _, seen := ended[p.Part]; seen || !strings.HasPrefix(p.Name, family+",") {
			continue
		}
		var h historyJSON
		r.do("GET", "/api/v1/history?part="+url.QueryEscape(p.Part), nil, &h)
		ended[p.Part] = h.Ended
		parts = append(parts, p.Part)
		if h.Ended > 0 && h.Ended < 8 {
			one = p.Part
		}
	}
	if one == "" {
		r.t.Fatalf("no part named %q is made seldom: %v", family, ended)
	}
	return parts, one
}

// Beside a part that was made too seldom stands what all parts named alike come to: as
// many batches as their own pages add up to, and none beside a part that is made often.
func poolsOfAlike(t *testing.T, r *rig) {
	parts, one := r.seldomMade("Bearing cap")
	type pool struct {
		Name  string
		Parts int
		Lead  struct{ N int }
		Route struct{ Batches, Started, Good int }
	}
	batches, started, good, made := 0, 0, 0, 0
	for _, p := range parts {
		var h struct{ Ended int }
		var l struct {
			Routes []struct{ Batches, Started, Good int }
		}
		r.do("GET", "/api/v1/history?part="+p, nil, &h)
		r.do("GET", "/api/v1/losses?part="+p, nil, &l)
		batches += h.Ended
		if h.Ended > 0 {
			made++
		}
		for _, x := range l.Routes {
			started, good = started+x.Started, good+x.Good
		}
	}
	var h, l struct{ Pool *pool }
	r.do("GET", "/api/v1/history?part="+one, nil, &h)
	r.do("GET", "/api/v1/losses?part="+one, nil, &l)
	if p := h.Pool; p == nil || p.Name != "Bearing cap" || p.Parts != made || p.Lead.N != batches {
		t.Errorf("lead times of %d batches of %d parts: %+v", batches, made, p)
	}
	if p := l.Pool; p == nil || p.Name != "Bearing cap" || p.Parts != made || p.Route.Batches != batches ||
		p.Route.Started != started || p.Route.Good != good {
		t.Errorf("yields of %d batches, %d started, %d good: %+v", batches, started, good, p)
	}
	for _, page := range []string{"history", "losses"} {
		var v struct{ Pool *pool }
		if r.do("GET", "/api/v1/"+page+"?part="+demo.PartWrongPlan, nil, &v); v.Pool != nil {
			t.Errorf("%s of a part that is made often: %+v", page, v.Pool)
		}
	}
}

// Planned times of too few batches each stand together by work centre: their batches are
// those of the operations that are not tested, and set-ups take what is true of the demo.
func poolsOfPlannedTimes(t *testing.T, r *rig) {
	var v struct {
		Few  int
		Fits []struct {
			Centre string `json:"work_centre"`
			What   string
			N      int
		}
		Pools []struct {
			Centre        string `json:"work_centre"`
			What          string
			Operations, N int
			Ratio         float64
			Low, High     *float64
		}
	}
	r.do("GET", "/api/v1/fits", nil, &v)
	ops, units := map[string]int{}, map[string]int{}
	for _, f := range v.Fits {
		if k := f.Centre + " " + f.What; f.N > 0 && f.N < v.Few {
			ops[k]++
			units[k] += f.N
		}
	}
	if len(v.Pools) != len(ops) || len(v.Pools) < 10 {
		t.Errorf("%d kinds of work, %d of them have operations of few batches", len(v.Pools), len(ops))
	}
	for _, p := range v.Pools {
		k := p.Centre + " " + p.What
		if p.Operations != ops[k] || p.N != units[k] {
			t.Errorf("%s: %+v, want %d of %d operations", k, p, units[k], ops[k])
		}
		if p.N < 30 || p.Low == nil {
			continue
		}
		if want := map[string]float64{"setup": demo.TrueSetup, "piece": demo.TrueCycle}[p.What]; math.Abs(
			p.Ratio-want) > 1.5*(*p.High-*p.Low)+0.05 {
			t.Errorf("%s: %.3f of the plan, %.3f is true", k, p.Ratio, want)
		}
	}
}

// poolsAreShown opens the pages on which parts made seldom stand with those alike.
func poolsAreShown(b *tab) {
	b.t.Helper()
	_, one := b.r.seldomMade("Bearing cap")
	b.open("/history?part="+one).waitFor("pool").untilSays("pool", "All parts named “Bearing cap”")
	b.open("/losses?part="+one).waitFor("yield-pool").untilSays("yield-pool", "Bearing cap")
	b.open("/fits").waitFor("pools").until(`document.querySelectorAll('[data-test="pool"]').length > 8`)
	for i, w := range []int64{390, 800, 1280} {
		b.do(chromedp.EmulateViewport(w, 900), scheme([]string{"light", "dark"}[i%2]))
		for _, path := range []string{"/history?part=" + one, "/losses?part=" + one, "/fits"} {
			b.open(path).waitFor(map[string]string{"/f": "pools", "/h": "pool", "/l": "yield-pool"}[path[:2]])
			b.fits(fmt.Sprint(path, " at ", w), w)
		}
	}
}
