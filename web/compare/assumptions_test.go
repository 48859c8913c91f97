package compare_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"tallywalk/web/webtest"
)

// odd are numbers that people and programs send and nobody thought of.
var odd = []float64{0, 1, 0.5, 0.001, 1e-308, 5e-324, -1, 2, 1e5, 1e6, 1e9, 1e12, 1e300, 1.7e308}

func someOdd(rng *rand.Rand) float64 { return odd[rng.IntN(len(odd))] }

func oddThree(rng *rand.Rand) map[string]any {
	x := someOdd(rng)
	return map[string]any{"low": x, "likely": x, "high": x}
}

// oddRoute is a route of the part of tinyYields with something assumed.
func oddRoute(rng *rand.Rand) map[string]any {
	r := map[string]any{"route_rev": "1", "one_off": someOdd(rng)}
	var list []any
	for op := 10; op <= 150; op += 10 {
		if rng.IntN(2) == 0 {
			x := someOdd(rng)
			list = append(
				list,
				map[string]any{
					"operation": op, "what": []string{"setup", "piece", "yield", "wait", "rate"}[rng.IntN(5)],
					"low":    x,
					"likely": x, "high": x,
				},
			)
		}
		if rng.IntN(3) > 0 {
			list = nil // most routes have few, so that some are taken
		}
	}
	if list != nil {
		r["overrides"] = list
	}
	if rng.IntN(3) == 0 {
		r["combine"] = map[string]any{
			"operations": []int{10, 20, 30}, "work_centre": "TURN", "rate_per_hour": someOdd(rng),
			"piece": oddThree(rng), "yield": oddThree(rng), "faster": oddThree(rng),
		}
	}
	return r
}

// tinyYields imports a part of fifteen operations with a planned yield each.
func tinyYields(r *webtest.Rig, yield string) {
	r.T.Helper()
	var b strings.Builder
	b.WriteString("part,route_rev,operation,work_centre,setup_min,cycle_min,yield\n")
	for op := 10; op <= 150; op += 10 {
		fmt.Fprintf(&b, "9999-01,1,%d,TURN,30,2,%s\n", op, yield)
	}
	r.Import("routes", b.String())
}

// Whatever is assumed, a comparison and a machine case answer figures or say
// what is wrong; no figure without an end becomes a fault of the server.
func TestAssumptionsWithoutEnd(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	tinyYields(r, "0."+strings.Repeat("0", 19)+"1")
	ask := func(overrides ...any) map[string]any {
		return map[string]any{
			"part": "1001-04", "size": 10,
			"routes": []any{
				map[string]any{"route_rev": "1"}, map[string]any{"route_rev": "1", "overrides": overrides},
			},
		}
	}
	for yield, want := range map[float64]int{1e-308: 400, 0.0009: 400, 0.001: 200, 1: 200, 1.0001: 400} {
		if got := r.Do(
			"POST", "/api/v1/compare", ask(map[string]any{"operation": 10, "what": "yield", "likely": yield}),
			nil,
		); got != want {
			t.Errorf("a yield of %g: %d, want %d", yield, got, want)
		}
	}
	// 10^-300 of the pieces come out good: what is divided by that is null.
	plain := map[string]any{"route_rev": "1"}
	var v struct {
		Against []struct {
			Centres []struct {
				First *float64 `json:"first_h"`
			}
		}
	}
	if got := r.Do(
		"POST", "/api/v1/compare",
		map[string]any{"part": "9999-01", "size": 1, "demand": 1e9, "routes": []any{plain, plain}}, &v,
	); got != 200 || len(v.Against) != 1 || len(v.Against[0].Centres) != 1 ||
		v.Against[0].Centres[0].First != nil {
		t.Errorf("a route that makes next to nothing: %d, %+v", got, v)
	}
	var k struct {
		Cases []struct{ Batches, Load *float64 }
	}
	nothing := map[string]any{
		"machine": map[string]any{"work_centre": "TURN", "open_h_week": 40, "weeks": 46},
		"members": []any{
			map[string]any{"part": "9999-01", "demand": 1e9, "size": 1, "now": plain, "then": plain}},
	}
	if got := r.Do(
		"POST", "/api/v1/machine-case", nothing, &k,
	); got != 200 || len(k.Cases) != 3 || k.Cases[0].Batches != nil || k.Cases[0].Load != nil {
		t.Errorf("a machine for a route that makes next to nothing: %d, %+v", got, k)
	}
	rng, seen := rand.New(rand.NewPCG(7, 11)), map[int]int{}
	costs := map[string]any{
		"currency": "EUR", "labour_per_h": 1e9, "manned": 1, "per_piece": 1e9, "per_trip": 1e9,
	}
	for range 25 {
		body := map[string]any{
			"part": "9999-01", "size": []int{1, 100_000}[rng.IntN(2)], "good": 10,
			"demand": []float64{0, 1, 1e9}[rng.IntN(3)], "costs": costs,
			"routes": []any{map[string]any{"route_rev": "1"}, oddRoute(rng)},
		}
		status := r.Do("POST", "/api/v1/compare", body, nil)
		seen[status]++
		if status != 200 && status != 400 {
			t.Errorf("compare: %d for %v", status, body)
		}
		body = map[string]any{
			"machine": map[string]any{
				"work_centre": "TURN", "price": someOdd(rng),
				"open_h_week": []float64{1e-300, 40, 1e12}[rng.IntN(3)],
				"weeks":       46,
			},
			"members": []any{
				map[string]any{
					"part": "9999-01", "demand": 1e9, "size": 1, "now": oddRoute(rng),
					"then": map[string]any{"route_rev": "1"},
				},
			},
			"costs": costs, "worth": map[string]any{"replaced": 1, "hour": 1e12, "labour": 1},
		}
		status = r.Do("POST", "/api/v1/machine-case", body, nil)
		seen[1000+status]++
		if status != 200 && status != 400 {
			t.Errorf("machine case: %d for %v", status, body)
		}
	}
	if seen[200] < 3 || seen[400] < 3 || seen[1200] < 3 || seen[1400] < 3 {
		t.Errorf("too few of a kind: %v", seen)
	}
	if got := r.Do("GET", "/api/v1/changes?part=9999-01&before=1&after=2&smallest=NaN", nil,
		nil); got != 400 {
		t.Errorf("a smallest change that is no number: %d", got)
	}
}
