package morning_test

import (
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

type line struct {
	Card, Machine, Reason string
	Operation, Pieces     int
	At, Until             *time.Time
	New                   bool
}

type section struct {
	Count, Pieces int
	Lines         []line
}

type answer struct {
	Since      time.Time
	Is         string `json:"since_is"`
	Operations int
	Foreseen   bool
	AtRisk     section `json:"at_risk"`
	Questions  struct{ Open int }

	Unattended, Finished, Shipped, Scrapped, Refused, Held, Late, Short, Stopped section
}

// clock is a shop's clock that a test moves while a server reads it.
type clock struct{ at atomic.Pointer[time.Time] }

func (c *clock) now() time.Time { return *c.at.Load() }

// to moves the clock to a time of November 2026: the 25th is a Wednesday.
func (c *clock) to(day, hour, minute int) {
	at := time.Date(2026, 11, day, hour, minute, 0, 0, time.UTC)
	c.at.Store(&at)
}

const shifts = `calendar,kind,days,date,from,to,zone
two-shift,shift,mon-fri,,06:00,14:00,UTC
two-shift,shift,mon-fri,,14:00,22:00,UTC
two-shift,break,mon-fri,,10:00,10:30,UTC
`

const machines = `machine,name,work_centre,x_m,y_m,kind,calendar,unattended
T1,Turning by the door,TURN,4,4,machine,two-shift,yes
T2,Turning by the wall,TURN,4,12,machine,two-shift,
F1,Milling,MILL,22,4,machine,two-shift,
Q1,Inspection,INSPECT,40,6,inspection,two-shift,
`

func newShop(t *testing.T) (*webtest.Rig, *clock) {
	t.Helper()
	c := &clock{}
	c.to(24, 5, 0)
	r := webtest.New(t, webtest.Options{Now: c.now, Ahead: func(d story.Desk) ahead.Source {
		return &webtest.Foreseen{Desk: d, Now: c.now, Zone: time.UTC}
	}})
	r.Import("calendars", shifts)
	r.Import("machines", machines)
	return r.As(traveler.RoleSupervisor), c
}

func morning(t *testing.T, r *webtest.Rig, query string) (a answer) {
	t.Helper()
	if status := r.Do("GET", "/api/v1/morning"+query, nil, &a); status != http.StatusOK {
		t.Fatalf("%q: %d", query, status)
	}
	return a
}

func said(station, card, action string, more ...any) webtest.Said {
	s := webtest.Said{"station": station, "card": card, "action": action}
	for i := 0; i < len(more); i += 2 {
		s[more[i].(string)] = more[i+1]
	}
	return s
}

func kept(t *testing.T, r *webtest.Rig, c *clock, s webtest.Said) {
	t.Helper()
	s["at"] = c.now().Format(time.RFC3339)
	if a := r.Scan(s)[0]; a.Outcome != "kept" {
		t.Fatalf("%v: %+v", s, a)
	}
}

func pieces(n int) []any { return []any{map[string]any{"reason": "size", "n": n}} }

// A story with each kind of line: what was before the last shift ended is not of this
// morning, what stands now is.
func TestEachKindOfLine(t *testing.T) {
	t.Parallel()
	r, c := newShop(t)
	one, two, three := r.Card("W-501"), r.Card("W-502"), r.Card("W-503")
	four, five := released(t, r, "W-600", 5), released(t, r, "W-601", 5)
	say := func(s webtest.Said) { t.Helper(); kept(t, r, c, s) }
	c.to(24, 7, 0)
	say(said("T2", four, "run"))
	say(said("T2", four, "finish", "good", 5))
	c.to(24, 8, 0)
	say(said("T1", two, "run"))
	c.to(24, 9, 0)
	say(said("T1", two, "count", "good", 1, "scrap", pieces(2))) // before the last shift ended
	c.to(24, 15, 0)
	say(said("T1", two, "count", "scrap", pieces(7)))
	say(said("T2", one, "setup"))
	say(said("T2", one, "firstoff"))
	say(said("Q1", four, "run"))
	c.to(24, 16, 0)
	say(said("T2", one, "firstoff", "operator", "31", "scrap", pieces(1)))
	say(said("Q1", four, "finish", "good", 5))
	// One that passes, with a set-up piece as scrap: not refused.
	say(said("T2", five, "setup"))
	say(said("T2", five, "firstoff"))
	say(said("T2", five, "firstoff", "operator", "31", "good", 1, "scrap", pieces(1)))
	c.to(24, 17, 0)
	say(said("office", four, "deliver", "pieces", 5))
	say(said("office", three, "hold", "reason", "customer asked"))
	say(said("office", three, "override", "for", "due", "to", "2026-11-20", "reason", "customer rang"))
	say(said("office", one, "override", "for", "due", "to", "2026-11-26", "reason", "customer rang"))
	c.to(25, 3, 0)
	say(said("T1", two, "stop", "reason", "material"))
	c.to(25, 6, 30)
	a := morning(t, r, "")
	if want := time.Date(2026, 11, 24, 14, 0, 0, 0, time.UTC); a.Is != "shift" || !a.Since.Equal(want) {
		t.Errorf("since %v, by %q, want %v", a.Since, a.Is, want)
	}
	for name, x := range map[string]struct {
		of            section
		card          string
		count, pieces int
	}{
		"unattended": {a.Unattended, two, 1, 0},
		"finished":   {a.Finished, four, 1, 5},
		"shipped":    {a.Shipped, four, 1, 5},
		"scrapped":   {a.Scrapped, two, 3, 9}, // seven, the first piece of W-501, a set-up piece of W-601
		"refused":    {a.Refused, one, 1, 0},
		"held":       {a.Held, three, 1, 0},
		"late":       {a.Late, three, 1, 0},
		"at risk":    {a.AtRisk, one, 1, 0},
		"short":      {a.Short, two, 2, 5}, // 120 started, 9 scrap, 115 wanted; all of W-601 are
		"stopped":    {a.Stopped, two, 1, 0},
	} {
		if x.of.Count != x.count || x.of.Pieces != x.pieces || len(x.of.Lines) == 0 ||
			x.of.Lines[0].Card != x.card {
			t.Errorf("%s: %+v, want %d of %s, %d pieces", name, x.of, x.count, x.card, x.pieces)
		}
	}
	ran := a.Unattended.Lines[0]
	if ran.Until == nil || !ran.Until.Equal(time.Date(2026, 11, 25, 3, 0, 0, 0, time.UTC)) ||
		ran.Reason != "material" || ran.Machine != "T1" {
		t.Errorf("it stopped at three for want of material: %+v", ran)
	}
	if !a.Foreseen || a.Operations != 1 {
		t.Errorf("operations that ended since: %d", a.Operations)
	}
	// From the day before on, all scrap is in; of the next hour nothing happened.
	if a = morning(t, r, "?since=2026-11-24T06:00"); a.Scrapped.Pieces != 11 || a.Operations != 2 {
		t.Errorf("%+v, %d operations", a.Scrapped, a.Operations)
	}
	a = morning(t, r, "?since=2026-11-25T06:00")
	if n := a.Scrapped.Count + a.Refused.Count + a.Shipped.Count + a.Finished.Count +
		a.Unattended.Count; n != 0 {
		t.Errorf("nothing happened since six: %+v", a)
	}
	if a.Stopped.Count+a.Held.Count+a.Late.Count != 3 || a.Stopped.Lines[0].New || a.Held.Lines[0].New {
		t.Errorf("what stands stays, and is not new: %+v", a)
	}
}

// released is the card of a batch of guide pins that is put on the floor.
func released(t *testing.T, r *webtest.Rig, order string, n int) string {
	t.Helper()
	body := map[string]any{
		"id": webtest.NewID(), "part": "1002-11", "route_rev": "1", "pieces": n, "wanted": n,
		"works_order": order,
	}
	if status := r.Do("POST", "/api/v1/batches", body, nil); status >= 300 {
		t.Fatalf("%d", status)
	}
	return r.Card(order)
}

// Whose shift it is goes by when it ends: the early shift of a Monday asks since Friday at
// two, the late shift since Friday at ten. What no calendar or the reader says is refused
// or said.
func TestSince(t *testing.T) {
	t.Parallel()
	r, c := newShop(t)
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 0, 0, 0, time.UTC) }
	for _, x := range []struct {
		day, hour int
		want      time.Time
	}{
		{30, 6, at(27, 14)}, {30, 5, at(27, 14)}, {30, 15, at(27, 22)}, {26, 7, at(25, 14)},
		{26, 23, at(26, 14)},
		{28, 9, at(27, 14)},
	} {
		c.to(x.day, x.hour, 5)
		if a := morning(t, r, ""); !a.Since.Equal(x.want) || a.Is != "shift" {
			t.Errorf("on the %dth at %d: since %v, want %v", x.day, x.hour, a.Since, x.want)
		}
	}
	for _, wrong := range []string{"yesterday", "2026-12-24T06:00", "2026-10-01T06:00", "2026-11-28"} {
		r.Refused("GET", "/api/v1/morning?since="+wrong, nil, http.StatusBadRequest)
	}
	plain := webtest.New(t, webtest.Options{Now: c.now}).As(traveler.RolePlanner)
	plain.Import("machines", "machine,name,work_centre,x_m,y_m,kind,calendar\nT1,Turning,TURN,4,4,machine,\n")
	if a := morning(t, plain, ""); a.Is != "yesterday" || !a.Since.Equal(at(27, 0)) || a.Foreseen {
		t.Errorf("without a calendar: %+v", a)
	}
}

// The number of open questions follows the floor, as the list of questions does.
func TestOpenQuestions(t *testing.T) {
	t.Parallel()
	r, c := newShop(t)
	count := func() (n int) {
		t.Helper()
		var v struct{ Open int }
		r.Do("GET", "/api/v1/questions/open", nil, &v)
		var list struct {
			Open  []struct{ Question string }
			Loose []any
		}
		r.Do("GET", "/api/v1/questions", nil, &list)
		if v.Open != len(list.Open)+len(list.Loose) {
			t.Errorf("%d open, %d listed", v.Open, len(list.Open)+len(list.Loose))
		}
		return v.Open
	}
	if n := count(); n != 0 {
		t.Errorf("%d at first", n)
	}
	c.to(24, 8, 0)
	card := r.Card("W-501")
	kept(t, r, c, said("T1", card, "run", "anyway", true, "reason", "told"))
	n := count()
	if n == 0 {
		t.Error("what was done anyway asks")
	}
	kept(t, r, c, said("T2", r.Card("W-503"), "run", "anyway", true, "reason", "told"))
	if more := count(); more <= n {
		t.Errorf("%d, then %d", n, more)
	}
	var list struct {
		Open []struct {
			Question string
			Choices  []string
		}
	}
	r.Do("GET", "/api/v1/questions", nil, &list)
	n = count()
	kept(t, r, c, said("office", card, "decide", "for", list.Open[0].Question, "reason",
		list.Open[0].Choices[0]))
	if left := count(); left >= n {
		t.Errorf("%d, after one was answered of %d", left, n)
	}
}
