package board_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// lineOf is the line before a work centre of one family's rows, as they are at a moment.
func lineOf(t *testing.T, pace *board.Pace, wc string, now time.Time, scans ...traveler.Scan) board.WaitLine {
	t.Helper()
	s := day()
	f := folded(s, scans...)
	m := measure.Meter{Shop: s, Floors: &ground.Floors{}, Now: f.Last()}
	facts := []story.BatchFact{m.Batch(f, 0)}
	rows := board.Rows(s, f, "2026-03-02", now)
	l := board.NewLines(s, board.ByDue, pace, now)
	l.Put(f.Root, rows, board.Runs(s, f, facts, rows))
	for _, x := range l.All(now) {
		if string(x.WorkCentre) == wc {
			return x
		}
	}
	t.Fatalf("no line before %s", wc)
	return board.WaitLine{}
}

// slow is a pace of five batches at which operation 10 took half as long again as
// planned, set-ups and pieces alike.
func slow() *board.Pace {
	p := board.NewPace()
	for i := range 5 {
		root := fmt.Sprint("B", i)
		p.Put(traveler.Code(root), []story.BatchFact{*fact(root, 45, 45, 10, false)})
	}
	return p
}

// Until when a machine is busy, by hand. Twenty pieces: at the lathe, always open, 30
// min of set-up and 3 min each; at the mill, open from 6 to 14, 60 and 30 min. Scans
// come at 9, 10, 11 ... of Monday 2 March.
func TestUntilWhenAMachineIsBusy(t *testing.T) {
	turned := []traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActFinish, 20)}
	tuesday := func(hour, minute int) time.Time { return at(hour, minute).AddDate(0, 0, 1) }
	for _, c := range []struct {
		name       string
		pace       *board.Pace
		wc         string
		scans      []traveler.Scan
		state      string
		set, until time.Time
	}{
		{"setting, by plan", board.NewPace(), "TURN", []traveler.Scan{scan("L1", traveler.ActSetup, 0)},
			"setting", at(9, 30), at(10, 30)},
		{"setting, as it has been", slow(), "TURN", []traveler.Scan{scan("L1", traveler.ActSetup, 0)},
			"setting", at(9, 45), at(11, 15)},
		{"running, by plan", board.NewPace(), "TURN", []traveler.Scan{scan("L1", traveler.ActRun, 0)},
			"running", time.Time{}, at(10, 0)},
		{"running, as it has been", slow(), "TURN", []traveler.Scan{scan("L1", traveler.ActRun, 0)},
			"running", time.Time{}, at(10, 30)},
		{
			"from the last count on", board.NewPace(), "TURN",
			[]traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActCount, 8)}, "running",
			time.Time{}, at(10, 36),
		},
		// 60 min of set-up from 11 on, then 10 h: 2 before 14:00, 8 on Tuesday.
		{"over the night", board.NewPace(), "MILL", append(turned, scan("M1", traveler.ActSetup, 0)),
			"setting", at(12, 0), tuesday(14, 0)},
		{"a run over the night", board.NewPace(), "MILL", append(turned, scan("M1", traveler.ActRun, 0)),
			"running", time.Time{}, tuesday(13, 0)},
		{
			"stopped: nobody knows", board.NewPace(), "TURN",
			[]traveler.Scan{scan("L1", traveler.ActRun, 0),
				{Station: "L1", Action: traveler.ActStop, Reason: "tool"}}, "stopped", time.Time{},
			time.Time{},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := lineOf(t, c.pace, c.wc, at(12, 0), c.scans...).Machines[0]
			if m.State != c.state || !m.SetUntil.Equal(c.set) || !m.Until.Equal(c.until) {
				t.Errorf("%s, set up at %v, until %v; want %s, %v, %v", m.State, m.SetUntil, m.Until, c.state,
					c.set, c.until)
			}
			if (m.Reason == "tool") != (c.state == "stopped") {
				t.Errorf("the reason is %q", m.Reason)
			}
		})
	}
}

// When machines open and close: the mills from 6 to 14 on weekdays, the lathe always.
func TestWhenMachinesOpen(t *testing.T) {
	for _, c := range []struct{ now, closes, opens time.Time }{
		{at(12, 0), at(14, 0), at(6, 0).AddDate(0, 0, 1)},
		{at(14, 0), time.Time{}, at(6, 0).AddDate(0, 0, 1)},
		{at(20, 0).AddDate(0, 0, 4), time.Time{}, at(6, 0).AddDate(0, 0, 7)}, // Friday evening
	} {
		m := lineOf(t, board.NewPace(), "MILL", c.now).Machines[0]
		if !m.Closes.Equal(c.closes) || !m.Opens.Equal(c.opens) {
			t.Errorf("at %v: closes %v, opens %v", c.now, m.Closes, m.Opens)
		}
	}
	if m := lineOf(t, board.NewPace(), "TURN", at(12, 0)).Machines[0]; !m.Closes.IsZero() ||
		!m.Opens.IsZero() {
		t.Errorf("without a calendar: %+v", m)
	}
}

// Who stands in line, in which order: not what is held or waits for an inspector, and
// not what is worked on; the order is the one given. Families go, and the rest moves up.
func TestWhoStandsInLine(t *testing.T) {
	now := at(12, 0)
	row := func(card, due string, state string) []board.Row {
		return []board.Row{
			{Key: card, Kind: "wait", Card: traveler.Code(card), WorkCentre: "MILL", Due: due, State: state,
				Since: now}}
	}
	order := func(l *board.Lines) string {
		for _, x := range l.Changed(now) {
			if x.WorkCentre == "MILL" {
				return strings.Join(x.Order, " ")
			}
		}
		return "unchanged"
	}
	backwards := func(a, b *board.Row) int { return board.ByDue(b, a) }
	for name, c := range map[string]struct {
		by     board.Order
		before string
		after  string
	}{"by due date": {board.ByDue, "b c a", "c a"}, "another order": {backwards, "a c b", "a c"}} {
		l := board.NewLines(day(), c.by, board.NewPace(), now)
		l.Put("a", row("a", "", "waiting"), nil)
		l.Put("b", row("b", "2026-03-03", "waiting"), nil)
		l.Put("c", row("c", "2026-03-05", "rework"), nil)
		l.Put("d", row("d", "2026-03-01", "held"), nil)
		l.Put("e", row("e", "2026-03-01", "review"), nil)
		if got := order(l); got != c.before {
			t.Errorf("%s: %s, want %s", name, got, c.before)
		}
		if got := order(l); got != "unchanged" {
			t.Errorf("%s: nothing happened, and the line is %s", name, got)
		}
		l.Put("b", nil, nil)
		if got := order(l); got != c.after {
			t.Errorf("%s: after the first went: %s, want %s", name, got, c.after)
		}
	}
}

// A wait is long when 19 of 20 were shorter, by hand: of 20 waits of 20 min each that is
// one that is longer than 20 min; of 19 nobody can say.
func TestLongWait(t *testing.T) {
	p := board.NewPace()
	for i := range 20 {
		if u := p.Usual()["TURN"]; i == 19 {
			r := board.Row{Kind: "wait", WorkCentre: "TURN", State: "waiting", Since: at(8, 0)}
			if got := r.LongSince(day(), u, at(8, 5)); !got.IsZero() {
				t.Errorf("of %d waits: %v", u.N, got)
			}
		}
		root := fmt.Sprint("B", i)
		p.Put(traveler.Code(root), []story.BatchFact{*fact(root, 45, 45, 10, false)})
	}
	u := p.Usual()["TURN"]
	if u != (board.UsualWait{N: 20, P50: 1200, P95: 1200}) {
		t.Fatalf("%+v", u)
	}
	for state, want := range map[string]time.Time{"waiting": at(8, 20), "rework": at(8, 20), "held": {},
		"review": {}} {
		r := board.Row{Kind: "wait", WorkCentre: "TURN", State: state, Since: at(8, 0)}
		if got := r.LongSince(day(), u, at(8, 5)); !got.Equal(want) {
			t.Errorf("%s: from %v, want %v", state, got, want)
		}
	}
	r := board.Row{Kind: "wait", WorkCentre: "TURN", State: "waiting", Since: at(8, 0)}
	if got := r.LongSince(day(), u, at(9, 0)); !got.Equal(at(0, 0)) {
		t.Errorf("what is past is said by its day: %v", got)
	}
	if r.LetOf = 20; !r.LongSince(day(), u, at(9, 0)).IsZero() {
		t.Error("pieces sent ahead wait for the rest of their batch, and that is no long wait")
	}
}

// From when on a batch will be late, by hand: due by the end of Tuesday 3 March. At the
// mill 60 + 20 x 30 min are 11 h of work; it is open 8 h a day, so that 3 h of Monday
// must be left at the latest: from 11:00 on. Nothing of what is late already is said.
func TestFromWhenItWillBeLate(t *testing.T) {
	s := day()
	turned := []traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActFinish, 20)}
	for _, c := range []struct {
		due  time.Time
		want time.Time
		late bool
	}{
		{at(0, 0).AddDate(0, 0, 1), at(11, 0), false},
		{at(0, 0).AddDate(0, 0, -1), time.Time{}, true},
		{at(0, 0).AddDate(0, 2, 0), time.Time{}, false}, // too far ahead to be said today
	} {
		f := folded(s, turned...)
		f.Batches[0].Due = c.due
		r := board.Rows(s, f, "2026-03-02", at(12, 0))[0]
		// The search is to the minute.
		if d := r.LateFrom.Sub(c.want); r.Late != c.late || d < -time.Minute || d > time.Minute {
			t.Errorf("due %v: late %v, from %v; want from %v", c.due, r.Late, r.LateFrom, c.want)
		}
	}
}

// What the operation before has let go while it goes on.
func TestWhatTheOperationBeforeLetGo(t *testing.T) {
	s := day()
	some := board.Rows(s, folded(s, scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActCount, 8)),
		"2026-03-02", at(12, 0))[0]
	if some.Kind != "wait" || some.Before != 10 || some.LetGo != 8 || some.LetOf != 20 {
		t.Errorf("%+v", some)
	}
	all := board.Rows(s, folded(s, scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActFinish, 20)),
		"2026-03-02", at(12, 0))[0]
	if all.LetOf != 0 {
		t.Errorf("%+v", all)
	}
}
