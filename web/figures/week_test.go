package figures_test

import (
	"bytes"
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

type weekAnswer struct {
	Periods []struct {
		From, To                                        string
		Finished, Started, Good, Scrap, Shipped, Pieces int
		Run                                             float64 `json:"run_s"`
		OnTime                                          struct {
			Lines  int
			InFull int `json:"lines_on_time"`
			Late   int `json:"lines_late"`
			Short  int `json:"lines_short"`
		} `json:"on_time"`
	}
	Scrap []struct {
		Reason string
		Pieces int
		Before float64
	}
	Machines []struct {
		Machine string
		Run     float64 `json:"run_s"`
		Before  float64 `json:"run_before_s"`
	}
}

// Two weeks by hand: one line short though in time, then one late though in full, and one
// as it should be. Late and short are two figures (common practice, no source).
func TestWeek(t *testing.T) {
	t.Parallel()
	var now atomic.Pointer[time.Time] // a server reads it meanwhile
	set := func(at time.Time) { now.Store(&at) }
	set(time.Date(2026, 11, 17, 5, 0, 0, 0, time.UTC))
	r := webtest.New(t, webtest.Options{Now: func() time.Time { return *now.Load() }}).As(
		traveler.RoleSupervisor)
	for _, o := range []webtest.Order{
		{Name: "W-600", Day: 17, Good: 9, Scrap: 1, Due: "2026-11-18"},
		{Name: "W-601", Day: 24, Good: 5, Due: "2026-11-23"},
		{Name: "W-602", Day: 25, Good: 7, Due: "2026-11-30"},
	} {
		r.Play(o, set)
	}
	set(time.Date(2026, 11, 27, 15, 0, 0, 0, time.UTC))
	ask := func(query string) (v weekAnswer) {
		t.Helper()
		if status := r.Do("GET", "/api/v1/week"+query, nil, &v); status != http.StatusOK {
			t.Fatalf("%s: %d", query, status)
		}
		return v
	}
	v := ask("")
	if p := &v.Periods[0]; p.From != "2026-11-23" || p.To != "2026-11-29" || p.Finished != 2 ||
		p.Good != 12 ||
		p.Shipped != 2 || p.Pieces != 12 || p.Scrap != 0 || p.Run != 2*5400 {
		t.Errorf("this week: %+v", p)
	}
	if n := v.Periods[0].OnTime; n.Lines != 2 || n.InFull != 1 || n.Late != 1 || n.Short != 0 {
		t.Errorf("this week's lines: %+v", n)
	}
	if p := &v.Periods[1]; p.From != "2026-11-16" || p.Finished != 1 || p.Good != 9 || p.Scrap != 1 ||
		p.Run != 5400 ||
		p.OnTime.Lines != 1 || p.OnTime.Short != 1 || p.OnTime.Late != 0 {
		t.Errorf("last week: %+v", p)
	}
	// The shop was at work in one of the weeks before: the mean is of that.
	if len(v.Scrap) != 1 || v.Scrap[0].Reason != "size" || v.Scrap[0].Pieces != 0 || v.Scrap[0].Before != 1 {
		t.Errorf("scrap: %+v", v.Scrap)
	}
	if len(v.Machines) != 2 || v.Machines[0].Machine != "T1" || v.Machines[0].Run != 7200 ||
		v.Machines[0].Before != 3600 {
		t.Errorf("machines: %+v", v.Machines)
	}
	if v = ask("?date=2026-11-20"); v.Periods[0].From != "2026-11-16" || len(v.Scrap) != 1 ||
		v.Scrap[0].Pieces != 1 {
		t.Errorf("a week that is over: %+v", v)
	}
	if v = ask("?of=month"); v.Periods[0].From != "2026-11-01" || v.Periods[0].To != "2026-11-30" ||
		v.Periods[0].Finished != 3 || v.Periods[1].From != "2026-10-01" {
		t.Errorf("a month: %+v", v.Periods)
	}
	for _, wrong := range []string{"?of=year", "?date=2026-12-01", "?date=Friday"} {
		r.Refused("GET", "/api/v1/week"+wrong, nil, http.StatusBadRequest)
	}
	weekBook(t, r)
}

// weekBook reads the workbook back.
func weekBook(t *testing.T, r *webtest.Rig) {
	t.Helper()
	req, err := http.NewRequest("GET", r.Base+"/api/v1/week/sheet.xlsx", nil)
	if err != nil {
		t.Fatal(err)
	}
	status, got := r.Send(req, nil)
	if status != http.StatusOK {
		t.Fatalf("%d: %s", status, got)
	}
	f, err := excelize.OpenReader(bytes.NewReader(got))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	for _, x := range []struct{ sheet, cell, want string }{
		{"figures", "C1", "2026-11-23 to 2026-11-29"}, {"figures", "C2", "2"}, {"figures", "D2", "1"},
		{"scrap", "A2", "size"}, {"machines", "A2", "T1"}, {"machines", "D2", "2"},
		{"planned times", "A1", "part"},
	} {
		if got, err := f.GetCellValue(x.sheet, x.cell); err != nil || got != x.want {
			t.Errorf("%s %s is %q, %v, want %q", x.sheet, x.cell, got, err, x.want)
		}
	}
}
