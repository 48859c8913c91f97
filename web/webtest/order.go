package webtest

import (
	"net/http"
	"time"
)

// Order is a batch of the example shop's part 1002-11 that is made, inspected and delivered
// on one day: an hour at the lathe from eight, at the inspection from ten, delivered at noon, or
// an hour after the inspection.
type Order struct {
	Name        string
	Day         int // of November 2026
	Good, Scrap int
	Due         string
	Inspected   time.Duration // how long that takes; 0 = half an hour
}

// Play releases and scans an order at the times that set gives the server.
func (r *Rig) Play(o Order, set func(time.Time)) {
	r.T.Helper()
	var now time.Time
	at := func(hour, minute int) {
		now = time.Date(2026, 11, o.Day, hour, minute, 0, 0, time.UTC)
		set(now)
	}
	at(7, 0)
	all := o.Good + o.Scrap
	body := map[string]any{
		"id": NewID(), "part": "1002-11", "route_rev": "1", "pieces": all, "wanted": all,
		"works_order": o.Name, "due": o.Due,
	}
	if status := r.Do("POST", "/api/v1/batches", body, nil); status != http.StatusCreated {
		r.T.Fatalf("%s: %d", o.Name, status)
	}
	card := r.Card(o.Name)
	say := func(s Said) {
		r.T.Helper()
		s["card"], s["at"] = card, now.Format(time.RFC3339)
		if a := r.Scan(s)[0]; a.Outcome != "kept" {
			r.T.Fatalf("%v: %+v", s, a)
		}
	}
	at(8, 0)
	say(Said{"station": "T1", "action": "run"})
	at(9, 0)
	made := Said{"station": "T1", "action": "finish", "good": o.Good}
	if o.Scrap > 0 {
		made["scrap"] = []any{map[string]any{"reason": "size", "n": o.Scrap}}
	}
	say(made)
	at(10, 0)
	say(Said{"station": "Q1", "action": "run"})
	long := o.Inspected
	if long == 0 {
		long = 30 * time.Minute
	}
	at(10, int(long.Minutes()))
	say(Said{"station": "Q1", "action": "finish", "good": o.Good})
	at(10, max(120, int(long.Minutes())+60))
	say(Said{"station": "office", "action": "deliver", "pieces": o.Good})
}
