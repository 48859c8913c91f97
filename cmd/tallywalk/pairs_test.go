package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"testing"
	"time"
)

// Each figure that stands on two pages, or on a page and in an export, is
// compared here as a planner would: through the API, on the demo's history.

// pairsPeriod is a period that is over, so that nothing in it changes while the
// demo goes on.
func pairsPeriod(t *testing.T, r *rig) string {
	t.Helper()
	var h struct {
		Selection struct{ To string }
	}
	r.do("GET", "/api/v1/history", nil, &h)
	return "from=" + daysFrom(t, h.Selection.To, -120) + "&to=" + daysFrom(t, h.Selection.To, -3)
}

// rows reads a list that is exported.
func (r *rig) rows(path string) (out []map[string]string) {
	r.t.Helper()
	_, raw := r.file(path)
	lines, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
	if err != nil || len(lines) == 0 {
		r.t.Fatalf("%s: %v", path, err)
	}
	for _, l := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = l[i]
		}
		out = append(out, row)
	}
	return out
}

// cellNumber reads a cell; an empty one is nothing.
func cellNumber(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	text, ok := row[column]
	if !ok {
		t.Fatalf("no column %s", column)
	}
	if text == "" {
		return 0
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// sums adds columns up, by batch and of all.
func sums(t *testing.T, rows []map[string]string, columns ...string) (by map[string][]float64,
	all []float64) {
	t.Helper()
	by, all = map[string][]float64{}, make([]float64, len(columns))
	for _, row := range rows {
		of := by[row["card"]]
		if of == nil {
			of = make([]float64, len(columns))
			by[row["card"]] = of
		}
		for i, c := range columns {
			x := cellNumber(t, row, c)
			of[i], all[i] = of[i]+x, all[i]+x
		}
	}
	return by, all
}

// What an inspector decided about pieces set aside is in every list of losses:
// scrap is the same in the batches, in their visits, and in the bars.
func scrapAgrees(t *testing.T, r *rig) {
	for _, row := range r.rows("/api/v1/export/batches") {
		cell := func(column string) float64 { return cellNumber(t, row, column) }
		came := cell("started") + cell("joined_in") - cell("split_off") + cell("over")
		if went := cell("good") + cell("scrap") + cell("rework_open") + cell("review") + cell("missing") +
			cell("to_do"); came != went {
			t.Errorf("batch %s: %v pieces came, %v are somewhere", row["card"], came, went)
		}
	}
	period := pairsPeriod(t, r)
	ofBatches, batches := sums(t, r.rows("/api/v1/export/batches?"+period), "scrap", "review", "concession")
	ofVisits, visits := sums(t, r.rows("/api/v1/export/visits?"+period), "scrap", "review", "concession",
		"set_aside")
	for card, want := range ofBatches {
		got := ofVisits[card]
		for i := range want {
			if got == nil && want[i] > 0 || got != nil && got[i] != want[i] {
				t.Errorf("batch %s: its visits have %v scrap, review and concession, it has %v", card, got,
					want)
				break
			}
		}
	}
	if visits[3] == 0 || visits[3] <= visits[1]+visits[2] {
		t.Fatalf("too little was decided from a review to know: %v", visits)
	}
	for _, by := range []string{"reason", "found", "caused", "part", "machine", "clampings"} {
		var l struct {
			Bars []struct{ Pieces float64 }
		}
		r.do("GET", "/api/v1/losses?kind=scrap&by="+by+"&"+period, nil, &l)
		n := 0.0
		for _, b := range l.Bars {
			n += b.Pieces
		}
		if n != batches[0] {
			t.Errorf("by %s %v pieces are scrap, in the batches %v", by, n, batches[0])
		}
	}
}

// How often and how far a batch is carried is one figure: on the ground board's
// page, in a comparison, before and after, and in the export.
func walksAgree(t *testing.T, r *rig) {
	var c struct {
		Routes []struct {
			RouteRev string `json:"route_rev"`
			Batches  int
			Result   struct {
				Trips, Metres float64
				Stores        float64 `json:"stores_m"`
				Dock          float64 `json:"dock_m"`
				Outside       float64 `json:"outside_m"`
			}
		}
	}
	r.do("GET", "/api/v1/compare?part=2140-06&route_rev=3&route_rev=4", nil, &c)
	var ch struct {
		Figures []struct {
			What          string
			Before, After struct{ Mean float64 }
		}
	}
	r.do("GET", "/api/v1/changes?part=2140-06&before=3&after=4", nil, &ch)
	changed := map[string][2]float64{}
	for _, f := range ch.Figures {
		changed[f.What] = [2]float64{f.Before.Mean, f.After.Mean}
	}
	exported := r.rows("/api/v1/export/batches?part=2140-06")
	for i, route := range c.Routes {
		var w struct {
			Trips  float64 `json:"trips_per_batch"`
			Metres float64 `json:"metres_per_batch"`
			Ended  int
		}
		r.do("GET", "/api/v1/ground/walks?part=2140-06&route_rev="+route.RouteRev, nil, &w)
		mean, n := [5]float64{}, 0.0
		for _, row := range exported {
			if row["route_rev"] != route.RouteRev || row["state"] != "done" || row["joined"] != "" {
				continue
			}
			n++
			for k, column := range []string{"trips", "walk_m", "walk_stores_m", "walk_dock_m",
				"walk_outside_m"} {
				mean[k] += cellNumber(t, row, column)
			}
		}
		if n < 10 || w.Ended != int(n) || route.Batches != int(n) {
			t.Errorf("route %s: %v batches in the export, %d walked, %d compared", route.RouteRev, n, w.Ended,
				route.Batches)
		}
		x := &route.Result
		for what, list := range map[string][]float64{
			"trips":  {x.Trips, w.Trips, mean[0] / n, changed["trips"][i]},
			"metres": {x.Metres, w.Metres, mean[1] / n, changed["metres"][i]},
			"stores": {x.Stores, mean[2] / n}, "dock": {x.Dock, mean[3] / n},
			"outside": {x.Outside, mean[4] / n},
		} {
			if slices.Max(list)-slices.Min(list) > 0.01 {
				t.Errorf("route %s: %s of a batch are %v", route.RouteRev, what, list)
			}
		}
		if x.Stores == 0 || x.Metres <= x.Stores+x.Dock+x.Outside {
			t.Errorf("route %s: %+v", route.RouteRev, *x)
		}
	}
}

// The actual time of a set-up and of a piece is one figure: on the pace board,
// among the planned times, and in a comparison.
func timesAgree(t *testing.T, r *rig) {
	var fits struct {
		Fits []struct {
			RouteRev  string `json:"route_rev"`
			Operation int
			What      string
			Actual    float64 `json:"actual_s"`
			N         int
		}
	}
	r.do("GET", "/api/v1/fits?part=2140-06", nil, &fits)
	type likely struct {
		Likely float64
		N      int
	}
	var c struct {
		Routes []struct {
			RouteRev string `json:"route_rev"`
			Steps    []struct {
				Operation int
				SetUp     likely  `json:"setup_min"`
				SetUps    float64 `json:"setups"`
				Piece     likely  `json:"piece_min"`
			}
		}
	}
	r.do("GET", "/api/v1/compare?part=2140-06&route_rev=3&route_rev=4", nil, &c)
	seen := 0
	for _, f := range fits.Fits {
		type spread struct {
			N    int
			Mean float64 `json:"mean_s"`
		}
		var pace struct{ Row struct{ SetUp, Piece spread } }
		r.do("GET", fmt.Sprintf("/api/v1/pace/operation?part=2140-06&route_rev=%s&operation=%d", f.RouteRev,
			f.Operation), nil, &pace)
		for _, route := range c.Routes {
			for _, s := range route.Steps {
				if route.RouteRev != f.RouteRev || s.Operation != f.Operation || f.N < 5 {
					continue
				}
				seen++
				compared, n, board := s.Piece.Likely*60, s.Piece.N, pace.Row.Piece
				if f.What == "setup" {
					compared, n, board = s.SetUp.Likely*60/s.SetUps, s.SetUp.N, pace.Row.SetUp
				}
				if math.Abs(compared-f.Actual) > 0.01 || math.Abs(board.Mean-f.Actual) > 0.01 || n != f.N ||
					board.N != f.N {
					t.Errorf("route %s, operation %d, %s: %v s of %d batches among the planned times, %v of %d compared, %v of %d on the pace board",
						f.RouteRev, f.Operation, f.What, f.Actual, f.N, compared, n, board.Mean, board.N)
				}
			}
		}
	}
	if seen < 15 {
		t.Errorf("only %d times were compared", seen)
	}
}

// Late and short are two figures that add up; rates are over the period asked
// for; what is outside is not at work.
func ratesAgree(t *testing.T, r *rig) {
	period := pairsPeriod(t, r)
	var h struct {
		Ended   int
		LeftOut int `json:"left_out"`
		OnTime  struct {
			Lines     int
			InFull    int `json:"lines_on_time"`
			ByDate    int `json:"lines_by_date"`
			Late      int `json:"lines_late"`
			Short     int `json:"lines_short"`
			LateShort int `json:"lines_late_and_short"`
		} `json:"on_time"`
		Flow struct {
			WIP      float64
			PerDay   float64 `json:"per_day"`
			MeanDays float64 `json:"mean_days"`
			Days     float64
			Done     int
		}
	}
	r.do("GET", "/api/v1/history?"+period, nil, &h)
	if o := h.OnTime; o.Lines != o.InFull+o.Late+o.Short-o.LateShort || o.ByDate != o.Lines-o.Late ||
		o.Late == 0 || o.Short == 0 {
		t.Errorf("%+v", o)
	}
	if f := h.Flow; f.Done != h.Ended+h.LeftOut || math.Abs(f.PerDay*f.Days-float64(f.Done)) > 1e-6 ||
		math.Abs(f.Days-118) > 0.1 || math.Abs(f.PerDay*f.MeanDays-f.WIP) > 1e-6 {
		t.Errorf("%d ended, %d left out: %+v", h.Ended, h.LeftOut, f)
	}
	var waits struct {
		Rows map[string]struct{ Kind, Card, State string }
	}
	var ground struct{ Totals struct{ Works, Away int } }
	var pace struct {
		Rows map[string]struct{ Kind, Card string }
	}
	r.do("GET", "/api/v1/ground", nil, &ground)
	r.do("GET", "/api/v1/waits", nil, &waits)
	r.do("GET", "/api/v1/pace", nil, &pace)
	at := map[string]map[string]bool{"waits": {}, "pace": {}, "away": {}}
	for _, x := range waits.Rows {
		if x.Kind == "work" && x.State == "outside" {
			at["away"][x.Card] = true
		} else if x.Kind == "work" {
			at["waits"][x.Card] = true
		}
	}
	for _, x := range pace.Rows {
		if x.Kind == "now" {
			at["pace"][x.Card] = true
		}
	}
	if n := len(at["waits"]); n == 0 || len(at["pace"]) != n || ground.Totals.Works != n ||
		len(at["away"]) != ground.Totals.Away {
		t.Errorf("at work are %d batches on waits, %d on pace, %+v on the ground; %d are outside", n,
			len(at["pace"]), ground.Totals, len(at["away"]))
	}
}

// The yield of a route is one figure: in a comparison, before and after, under
// losses, and in the export; and what a control chart follows at one operation
// adds up over the operations to what it follows of all.
func yieldsAgree(t *testing.T, r *rig) {
	var c struct {
		Routes []struct {
			RouteRev string `json:"route_rev"`
			Result   struct{ Yield float64 }
		}
	}
	r.do("GET", "/api/v1/compare?part=2140-06&route_rev=3&route_rev=4", nil, &c)
	type lossesJSON struct {
		Routes []struct {
			RouteRev string `json:"route_rev"`
			Final    struct{ Yield float64 }
			Steps    []struct{ Operation int }
		}
		Chart struct {
			Rules  string
			Points []struct{ Lost int }
		}
	}
	lost := func(l *lossesJSON) (n int) {
		for _, p := range l.Chart.Points {
			n += p.Lost
		}
		return n
	}
	var l lossesJSON
	r.do("GET", "/api/v1/losses?by=caused&part=2140-06", nil, &l)
	var ch struct {
		Figures []struct {
			What          string
			Before, After struct{ Mean float64 }
		}
	}
	r.do("GET", "/api/v1/changes?part=2140-06&before=3&after=4", nil, &ch)
	exported := r.rows("/api/v1/export/batches?part=2140-06")
	ops := map[int]bool{}
	for i, route := range c.Routes {
		good, started, yields := 0.0, 0.0, []float64{route.Result.Yield}
		for _, row := range exported {
			if row["route_rev"] == route.RouteRev && row["state"] == "done" && row["joined"] == "" {
				good, started = good+cellNumber(t, row, "good"), started+cellNumber(t, row, "started")
			}
		}
		yields = append(yields, good/started)
		for _, x := range l.Routes {
			if x.RouteRev == route.RouteRev {
				yields = append(yields, x.Final.Yield)
			}
			for _, s := range x.Steps {
				ops[s.Operation] = true
			}
		}
		for _, f := range ch.Figures {
			if f.What == "yield" {
				yields = append(yields, []float64{f.Before.Mean, f.After.Mean}[i])
			}
		}
		// Pieces that a batch got from another are no part of what it started, and what an
		// operation lost in a batch that nobody counted there is taken from the others: a
		// batch in twenty that is twice as bad as the rest moves the yield by a quarter of
		// a hundredth.
		if len(yields) != 4 || slices.Max(yields)-slices.Min(yields) > 0.0025 {
			t.Errorf("route %s: the yield is %v", route.RouteRev, yields)
		}
	}
	one := 0
	for op := range ops {
		var at lossesJSON
		r.do("GET", fmt.Sprintf("/api/v1/losses?by=caused&part=2140-06&operation=%d", op), nil, &at)
		one += lost(&at)
	}
	if n := len(l.Chart.Points); n == 0 || n >= 100 || one != lost(&l) || l.Chart.Rules == "" {
		t.Errorf("%d batches lost %d pieces on the chart, %d on those of the operations", n, lost(&l), one)
	}
}

// A machine case starts from the load that a comparison shows of the last
// quarter, less what its own parts took of it.
func caseStartsFromTheQuarter(t *testing.T, r *rig) {
	ask := map[string]any{
		"machine": map[string]any{"work_centre": "MILLTURN", "price": 1, "one_off": 0, "open_h_week": 80,
			"weeks": 46},
		"members": []any{
			map[string]any{"part": "2140-06", "demand": 1, "size": 60,
				"now": map[string]any{"route_rev": "3"}, "then": map[string]any{"route_rev": "4"}}},
		"costs": map[string]any{"currency": "EUR"},
		"worth": map[string]any{"replaced": 0, "hour": 0, "labour": 0},
	}
	var v struct {
		Busy    float64
		Quarter struct {
			Load, Others float64
			OpenWeek     float64 `json:"open_h_week"`
		}
	}
	if status := r.do("POST", "/api/v1/machine-case", ask, &v); status != 200 {
		t.Fatal(status)
	}
	var c struct {
		Against []struct {
			Centres []struct {
				WorkCentre string `json:"work_centre"`
				Load       float64
			}
		}
	}
	r.do("POST", "/api/v1/compare", askCompare, &c)
	found := false
	for _, x := range c.Against[0].Centres {
		if x.WorkCentre == "MILLTURN" {
			found = true
			if q := v.Quarter; math.Abs(x.Load-q.Load) > 1e-9 || v.Busy != q.Others || q.Others <= 0 ||
				q.Others >= q.Load || q.OpenWeek < 40 || q.OpenWeek > 168 {
				t.Errorf("compared at a load of %v, the case has %+v and starts with %v", x.Load, q, v.Busy)
			}
		}
	}
	if !found {
		t.Error("no load to compare")
	}
}

// daysFrom is a date so many days on.
func daysFrom(t *testing.T, date string, days int) string {
	t.Helper()
	at, err := time.Parse(time.DateOnly, date)
	if err != nil {
		t.Fatal(err)
	}
	return at.AddDate(0, 0, days).Format(time.DateOnly)
}
