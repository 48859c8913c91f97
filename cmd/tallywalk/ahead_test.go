package main

import (
	"crypto/rand"
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"tallywalk/cmd/tallywalk/demo"
	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
)

// someWeeks is a history of the demo's shop, its zone and its end.
func someWeeks(t testing.TB, seed uint64, weeks int) (*house, *time.Location, time.Time) {
	t.Helper()
	sim, hs := simulatedShop(t, seed, weeks)
	zone, err := time.LoadLocation(demo.Zone)
	if err != nil {
		t.Fatal(err)
	}
	return hs, zone, sim.Opens()
}

// asOf forecasts a past moment from a record.
func asOf(t testing.TB, d story.Desk, zone *time.Location, at time.Time) *ahead.Forecast {
	t.Helper()
	w := ahead.NewWatch(
		ahead.Settings{Desk: d, Zone: zone, Now: func() time.Time { return at }, Until: at, Days: 4})
	if err := w.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	return w.Forecast()
}

// cutAfter is a desk over the part of a record that arrived by a moment.
func cutAfter(t testing.TB, d story.Desk, at time.Time) story.Desk {
	t.Helper()
	mem := store.NewMem()
	var part []*traveler.Entry
	if err := d.Entries(1, func(e *traveler.Entry) bool {
		if e.Arrived.After(at) {
			return false
		}
		part = append(part, e)
		return true
	}); err != nil {
		t.Fatal(err)
	}
	if err := mem.Append(0, part, nil); err != nil {
		t.Fatal(err)
	}
	out, err := desk.New(mem, desk.Options{Now: func() time.Time { return at }, Rand: rand.Reader})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := out.Close(); err != nil {
			t.Error(err)
		}
	})
	return out
}

// What came later changes nothing of a past forecast: cut off the record after it,
// and it is the same to the last digit. Another moment's is not.
func TestForecastKnowsNothingLater(t *testing.T) {
	t.Parallel()
	hs, zone, open := someWeeks(t, 5, 20)
	at := open.AddDate(0, 0, -25)
	whole, cut := asOf(t, hs.desk, zone, at), asOf(t, cutAfter(t, hs.desk, at), zone, at)
	if len(whole.Batches) < 20 || whole.Method == ahead.TooFew {
		t.Fatalf("%s of %d batches", whole.Method, len(whole.Batches))
	}
	if !reflect.DeepEqual(whole, cut) {
		t.Error("what came later changed the forecast")
	}
	if other := asOf(t, hs.desk, zone, at.AddDate(0, 0, 1)); reflect.DeepEqual(other.Batches, whole.Batches) {
		t.Error("the next day's forecast is the same")
	}
}

// A shop with few weeks of history gets no dates at first, then those of its waits,
// and the simulation when there is enough to learn from.
func TestForecastSaysWhatItRestsOn(t *testing.T) {
	t.Parallel()
	hs, zone, open := someWeeks(t, 3, 20)
	for _, c := range []struct {
		days int
		want ahead.Method
	}{{20*7 - 5, ahead.TooFew}, {20*7 - 40, ahead.Waits}, {0, ahead.Simulated}} {
		f := asOf(t, hs.desk, zone, open.AddDate(0, 0, -c.days))
		if f.Method != c.want {
			t.Errorf("%d days before the end: %s, want %s", c.days, f.Method, c.want)
		}
		for i := range f.Batches {
			if b := &f.Batches[i]; b.Delivered.P50.Before(f.AsOf) ||
				b.Delivered.P85.Before(b.Delivered.P50) || b.Delivered.P95.Before(b.Delivered.P85) {
				t.Errorf("%s: %v", b.Card, b.Delivered)
			}
		}
	}
}

// An old log that was imported is forecast by when its rows happened, not by when
// they arrived; no times were planned in it, so what operations took is learnt.
func TestForecastOfAnOldLog(t *testing.T) {
	t.Parallel()
	m := makeUp(t)
	hs := logHouse(t)
	takeLog(t, hs, m.file(), false)
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	rows := plainly(m.rows)
	first, last := time.Time{}, time.Time{}
	for _, p := range rows {
		if first.IsZero() || p.first.Before(first) {
			first = p.first
		}
		if p.last.After(last) {
			last = p.last
		}
	}
	at := first.Add(last.Sub(first) * 2 / 3)
	f := asOf(t, hs.desk, zone, at)
	if f.Method == ahead.TooFew || len(f.Batches) == 0 {
		t.Fatalf("%s of %d batches", f.Method, len(f.Batches))
	}
	near, n := 0, 0
	for i := range f.Batches {
		b := &f.Batches[i]
		p := rows[b.Order]
		if p == nil || p.first.After(at) {
			t.Errorf("%s %s was not begun then", b.Card, b.Order)
			continue
		}
		n++
		if end := p.last; !end.Before(b.Done.P50.AddDate(0, 0, -21)) &&
			!end.After(b.Done.P95.AddDate(0, 0, 21)) {
			near++
		}
	}
	if n < 5 || near*3 < n*2 {
		t.Errorf("of %d batches %d came within three weeks of their dates", n, near)
	}
}

// A watch that goes on says what one says that reads everything at once; and what
// it kept of past days is there when it begins again.
func TestWatchGoesOn(t *testing.T) {
	t.Parallel()
	hs, zone, open := someWeeks(t, 9, 16)
	now := open.AddDate(0, 0, -10)
	part := cutAfter(t, hs.desk, now)
	tables := store.NewMem().Tables()
	set := ahead.Settings{Desk: part, Zone: zone, Now: func() time.Time { return now }, Tables: tables,
		Days: 20}
	w := ahead.NewWatch(set)
	if err := w.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	before := w.Hits(30)
	kept := 0
	if err := tables.Each("ahead", func(string, []byte) bool { kept++; return true }); err != nil {
		t.Fatal(err)
	}
	if before == nil || before.Days > kept || before.Days < 12 {
		t.Fatalf("%+v, %d days kept", before, kept)
	}
	again := ahead.NewWatch(set)
	if err := again.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	if h := again.Hits(30); !reflect.DeepEqual(h, before) {
		t.Errorf("%+v, %+v; %v\n%+v, %+v; %v", before.Done, before.Delivered, before.Shock, h.Done,
			h.Delivered, h.Shock)
	}
	if a, b := w.Forecast(), again.Forecast(); !reflect.DeepEqual(a, b) {
		t.Error("another forecast when it begins again")
	}
}

// What if: a batch goes first, a machine is lost, an order comes: the floor as it
// stands is not touched, and what can't be is refused.
func TestWhatIf(t *testing.T) {
	t.Parallel()
	hs, zone, open := someWeeks(t, 4, 16)
	w := ahead.NewWatch(
		ahead.Settings{Desk: hs.desk, Zone: zone, Now: func() time.Time { return open }, Days: 2})
	if err := w.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	was := w.Forecast()
	ask := func(sc ahead.Scenario) *ahead.Forecast {
		t.Helper()
		share := 0.0
		before, after, err := w.WhatIf(t.Context(), &sc, func(s float64) { share = s })
		if err != nil {
			t.Fatal(err)
		}
		if before != was || share <= 0 || share > 1 {
			t.Errorf("share %v", share)
		}
		return after
	}
	if same := ask(ahead.Scenario{}); !reflect.DeepEqual(same.Batches, was.Batches) {
		t.Error("nothing was changed, and dates moved")
	}
	last := &was.Batches[0]
	for i := range was.Batches {
		if b := &was.Batches[i]; b.Place > last.Place && b.WorkCentre == "GRIND" ||
			last.WorkCentre != "GRIND" {
			last = b
		}
	}
	if f := ask(ahead.Scenario{First: []traveler.Code{last.Card}}); f.Batch(last.Card).Done.P50.After(
		last.Done.P50) {
		t.Errorf("%s goes first and comes later: %v, %v", last.Card, f.Batch(last.Card).Done, last.Done)
	}
	lost := ask(ahead.Scenario{
		Shut: []ahead.Stretch{{Machine: "G1", From: open, To: open.AddDate(0, 0, 12)}}})
	if lost.Late() <= was.Late() {
		t.Errorf("without the grinder %d are late, with it %d", lost.Late(), was.Late())
	}
	more := ask(ahead.Scenario{
		Add: []ahead.NewBatch{{Part: "3305-02", Pieces: 60}, {Part: "2155-11", Pieces: 20}}})
	if b := more.Batch("new/1"); b == nil || !b.New || b.Due.IsZero() || b.Delivered.P50.Before(open) ||
		more.Added.P85.Before(b.Delivered.P50) {
		t.Errorf("%+v, %+v", b, more.Added)
	}
	for what, sc := range map[string]ahead.Scenario{
		"a card":    {First: []traveler.Code{"BNOWHERE0"}},
		"a machine": {Shut: []ahead.Stretch{{Machine: "X9", From: open, To: open.Add(time.Hour)}}},
		"a route":   {Route: []ahead.Reroute{{Card: last.Card, Rev: "Z"}}},
		"a part":    {Add: []ahead.NewBatch{{Part: "nothing", Pieces: 1}}},
		"pieces":    {Split: []ahead.Piece{{Card: last.Card, Pieces: 100000}}},
	} {
		if _, _, err := w.WhatIf(t.Context(), &sc, nil); traveler.KindOf(err) != traveler.KindInvalid {
			t.Errorf("%s that is not there: %v", what, err)
		}
	}
	if r := w.Rules(); len(r) != len(ahead.AllRules) || r[0].Batches < 30 || r[0].LeadDays <= 0 {
		t.Errorf("%+v", r)
	}
}

// The command prints as of a past moment what anybody can compare with what came.
func TestAheadCommand(t *testing.T) {
	t.Parallel()
	hs, _, open := someWeeks(t, 6, 16)
	hs.host = host{ctx: t.Context(), now: func() time.Time { return open }}
	if err := hs.keep(settings{Zone: demo.Zone}); err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	at := open.AddDate(0, 0, -14)
	if err := hs.doAhead(t.Context(), request{AsOf: at.Format(time.RFC3339)}, &out); err != nil {
		t.Fatal(err)
	}
	var got struct {
		AsOf    time.Time `json:"as_of"`
		Method  string
		Batches []struct {
			Card     traveler.Code
			P50, P85 time.Time
			OnTime   *float64 `json:"on_time"`
		}
	}
	if err := json.Unmarshal([]byte(out.String()), &got); err != nil {
		t.Fatal(err)
	}
	if !got.AsOf.Equal(at) || len(got.Batches) < 10 || got.Batches[0].OnTime == nil ||
		!got.Batches[0].P85.After(at) {
		t.Errorf("%+v", got)
	}
	for _, text := range []string{"tomorrow", open.AddDate(0, 0, 1).Format(time.RFC3339)} {
		if err := hs.doAhead(t.Context(), request{AsOf: text}, &out); err == nil {
			t.Errorf("%s is taken", text)
		}
	}
}
