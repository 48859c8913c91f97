package ahead

import (
	"testing"
	"time"

	"tallywalk/traveler"
)

// Two boxes of as many pieces that are split off one batch are two batches: each has a
// name and draws of its own, and no piece is counted twice.
func TestSplitTwice(t *testing.T) {
	shop := new(traveler.Shop).With(&traveler.Change{From: monday, Machines: places(1)})
	fl := &floor{now: monday, shop: shop, zone: time.UTC, jobs: []job{
		{card: "B1", key: keyOf("B1"), todo: []todo{{op: 10, wc: "A", pieces: 30, run: 300}}},
	}}
	sc := &Scenario{Split: []Piece{{"B1", 10}, {"B1", 10}}}
	got, err := fl.with(sc)
	if err != nil {
		t.Fatal(err)
	}
	names, keys, pieces, run := map[traveler.Code]bool{}, map[uint64]bool{}, 0, 0.0
	for i := range got.jobs {
		j := &got.jobs[i]
		names[j.card], keys[j.key] = true, true
		pieces, run = pieces+j.todo[0].pieces, run+j.todo[0].run
	}
	if len(names) != 3 || len(keys) != 3 || pieces != 30 || run < 299.99 || run > 300.01 {
		t.Errorf("%d names, %d keys, %d pieces, %v s", len(names), len(keys), pieces, run)
	}
	if len(fl.jobs) != 1 || fl.jobs[0].todo[0].pieces != 30 {
		t.Error("the floor itself was changed")
	}
}

// Work that takes longer than a time.Duration holds, 292 years, is far ahead and not in
// the past.
func TestFarAhead(t *testing.T) {
	l := newLine(ByDue, 1)
	l.put(0, l.op(0, 60, resid{1}))
	l.put(0, l.op(0, 400*366*86400, resid{1}))
	for i := range l.jobs {
		b := l.jobs[i].job
		b.todo = []todo{{op: 10, wc: "A", pieces: 1, run: l.jobs[i].ops[0].run}}
		l.floor.jobs = append(l.floor.jobs, *b)
	}
	f := l.forecast(l.simulate(3, true, nil), 3, Simulated, nil)
	for i := range f.Batches {
		b := &f.Batches[i]
		if b.Delivered.P50.Before(monday) || b.Delivered.P95.Before(b.Delivered.P50) ||
			b.Steps[0].Ends.Before(monday) {
			t.Errorf("%s comes %v to %v, its operation ends %v", b.Card, b.Delivered.P50, b.Delivered.P95,
				b.Steps[0].Ends)
		}
	}
	if far := f.Batch("1").Delivered.P50; far.Before(monday.AddDate(99, 0, 0)) {
		t.Errorf("400 years are over %v", far)
	}
}

// Each date is corrected by its own past; still nothing is delivered before its last
// operation ends.
func TestDeliveredAfterDone(t *testing.T) {
	fix := &Correction{}
	fix.done.level[1][0], fix.delivered.level[1][0] = 0.95, 0.6
	var done, delivered grid
	for i := range done {
		done[i], delivered[i] = float32(100*i), float32(100*i+50)
	}
	both := fix.both(&done, &delivered, 0)
	for l := range levels {
		if both[ofDone][l] > both[ofDelivered][l] {
			t.Errorf("level %d: done %v, delivered %v", l, both[ofDone][l], both[ofDelivered][l])
		}
	}
	if both[ofDelivered][1] != delivered.at(0.6) {
		t.Errorf("what is quoted was changed: %v", both[ofDelivered])
	}
}
