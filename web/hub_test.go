package web

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"fmt"
	"log/slog"
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// floor is a shop with many machines and open batches, told without a store.
type floor struct {
	story.Desk
	shop     *traveler.Shop
	families []*story.Family
	seq      traveler.Seq
	now      time.Time
	changed  chan struct{}
	left     []*story.Family // off the floor
	moved    []traveler.Code // since version 1
}

func (d *floor) Shop() *traveler.Shop     { return d.shop }
func (d *floor) Changed() <-chan struct{} { return d.changed }

// Facts are those of families that have left the floor: the hub works out those
// of the others itself.
func (d *floor) Facts(_ story.FactQuery, yield func(*story.BatchFact) bool) error {
	for _, f := range d.left {
		m := measure.Meter{Shop: d.shop, Floors: &ground.Floors{}, Now: f.Last()}
		for i := range f.Batches {
			b := m.Batch(f, i)
			if b.Ended.IsZero() {
				b.Ended = f.Last()
			}
			if !yield(&b) {
				return nil
			}
		}
	}
	return nil
}

func (d *floor) ChangedSince(version uint64) (map[traveler.Code]*story.Family, uint64, bool) {
	now := uint64(len(d.moved)) + 1
	if version == 0 {
		return nil, now, false
	}
	out := map[traveler.Code]*story.Family{}
	for _, root := range d.moved[version-1:] {
		out[root] = nil
		if i := slices.IndexFunc(d.families, func(f *story.Family) bool { return f.Root == root }); i >= 0 {
			out[root] = d.families[i]
		}
	}
	return out, now, true
}
func (d *floor) Open(yield func(*story.Family) bool) {
	for _, f := range d.families {
		if !yield(f) {
			return
		}
	}
}

const (
	largeMachines = 60
	largeBatches  = 500
)

// largeFloor has every batch some way along its route, some of them at work.
func largeFloor(batches int) *floor {
	d := &floor{now: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC), changed: make(chan struct{})}
	c := largeChange(d.now)
	d.shop = new(traveler.Shop).With(c)
	for i := range batches {
		d.families = append(d.families, d.batch(c, i))
	}
	return d
}

// largeChange is what the shop is made of.
func largeChange(now time.Time) *traveler.Change {
	c := &traveler.Change{From: now.AddDate(-1, 0, 0), Layout: &traveler.Layout{}}
	for i := range largeMachines {
		id := traveler.MachineID(fmt.Sprintf("M%02d", i))
		c.Machines = append(c.Machines, traveler.Machine{
			ID: id, Name: "Machine in bay " + fmt.Sprint(i), WorkCentre: traveler.WorkCentre(fmt.Sprintf("CENTRE%d", i%15)), X: float64(i%10) * 6, Y: float64(i/10) * 8,
		})
		k := fmt.Sprintf("K%d", i%10)
		if i < 10 {
			c.Layout.Corners = append(c.Layout.Corners, traveler.Corner{ID: k, X: float64(i) * 6, Y: 4})
			if i > 0 {
				c.Layout.Aisles = append(c.Layout.Aisles, traveler.Aisle{From: fmt.Sprintf("K%d", i-1), To: k})
			}
		}
		c.Layout.Aisles = append(c.Layout.Aisles, traveler.Aisle{From: string(id), To: k})
	}
	for p := range 40 {
		r := traveler.Route{Part: fmt.Sprintf("4711-%02d", p), PartName: "Bearing bracket", Rev: "3"}
		for k := range 6 {
			r.Operations = append(r.Operations, traveler.Operation{Number: traveler.Op(10 * (k + 1)), WorkCentre: traveler.WorkCentre(fmt.Sprintf("CENTRE%d", (p+4*k)%15)), SetupMin: 30, CycleMin: 3, PiecesPerCycle: 1, Clampings: 1})
		}
		c.Routes = append(c.Routes, r)
	}
	return c
}

func (d *floor) batch(c *traveler.Change, i int) *story.Family {
	card, ok := traveler.Code(""), false
	for n := uint64(i) * 64; !ok; n++ {
		card, ok = traveler.NewCode(traveler.KindBatch, n)
	}
	r := &c.Routes[i%len(c.Routes)]
	d.seq++
	start := d.now.Add(-time.Duration(i)*time.Hour - time.Duration(i*7919%3_600_000)*time.Millisecond)
	f := story.Fold(d.shop, []*traveler.Entry{{Seq: d.seq, Arrived: start, Card: card, Rules: story.Rules, Release: &traveler.Release{
		ID: d.id(), Part: r.Part, RouteRev: r.Rev, Pieces: 60, WorksOrder: fmt.Sprintf("W-%d", 4000+i), Due: d.now.AddDate(0, 0, i%20-5),
	}}})
	for k := range i % 5 {
		m := traveler.MachineID(fmt.Sprintf("M%02d", (i%40+4*k)%15))
		f = d.hear(f, card, m, traveler.ActRun, 0, start.Add(time.Duration(2*k+1)*time.Minute))
		if k < i%5-1 || i%3 > 0 {
			f = d.hear(f, card, m, traveler.ActFinish, 60, start.Add(time.Duration(2*k+2)*time.Minute))
		}
	}
	return f
}

func (d *floor) id() traveler.ScanID {
	h := sha256.Sum256(fmt.Append(nil, d.seq)) // as hard to deflate as a real one
	return traveler.ScanID(fmt.Sprintf("%x-%x-7%x-8%x-%x", h[:4], h[4:6], h[6:8], h[8:10], h[10:16])[:36])
}

func (d *floor) hear(f *story.Family, card traveler.Code, m traveler.MachineID, act traveler.Action, good int, at time.Time) *story.Family {
	d.seq++
	s := &traveler.Scan{ID: d.id(), At: at, Station: string(m), Card: string(card), Action: act, Operator: "11"}
	if good > 0 {
		s.Good = &good
	}
	next, _ := f.Add(d.shop, &traveler.Entry{Seq: d.seq, Arrived: at, Card: card, Machine: m, Scan: s, By: traveler.Actor{Name: "station", Role: traveler.RoleOperator}})
	return next
}

func largeHub(tb testing.TB, batches int) (*floor, *hub) {
	tb.Helper()
	d := largeFloor(batches)
	return d, d.hub()
}

// hub is a new one over the floor as it is now.
func (d *floor) hub() *hub {
	return newHub(&Server{cfg: Config{Desk: d, Now: func() time.Time { return d.now }, Zone: time.UTC, Log: slog.New(slog.DiscardHandler)}})
}

// change lets one piece be counted somewhere.
func (d *floor) change(i int) {
	i %= len(d.families)
	f := d.families[i]
	d.moved = append(d.moved, f.Root)
	d.now = d.now.Add(time.Second)
	for j := range f.Visits {
		if v := &f.Visits[j]; v.Open() {
			d.families[i] = d.hear(f, f.Root, v.Machine, traveler.ActCount, 1, d.now)
			return
		}
	}
	d.families[i] = d.hear(f, f.Root, traveler.MachineID(fmt.Sprintf("M%02d", (i%40+4*(i%5))%15)), traveler.ActSetup, 0, d.now)
}

// What a page gets first of a shop with 60 machines and 500 open batches stays
// under 60 kB as it goes over the wire (deflated), and a change under 2 kB as it
// is.
func TestBoardsOfALargeShopAreSmall(t *testing.T) {
	d, h := largeHub(t, largeBatches)
	at := map[string]uint64{}
	for name, f := range h.feeds {
		message, seq, _, err := f.next(0)
		if err != nil {
			t.Fatal(err)
		}
		at[name] = seq
		if n := deflated(t, message.message); n > 60<<10 {
			t.Errorf("%s: %d bytes first, %d deflated", name, len(message.message), n)
		} else {
			t.Logf("%s: %d bytes first, %d deflated", name, len(message.message), n)
		}
	}
	for i := range 200 {
		d.change(i * 7)
		h.pull()
		for name, f := range h.feeds {
			message, seq, _, err := f.next(at[name])
			if err != nil {
				t.Fatal(err)
			}
			at[name] = seq
			if len(message.message) > 2<<10 {
				t.Fatalf("%s: a change of %d bytes: %s", name, len(message.message), message.message)
			}
		}
	}
}

// What a page gets first of a floor of 10,000 open batches stays under 400 kB as
// it goes over the wire.
func TestBoardsOfAFullFloorAreSmall(t *testing.T) {
	t.Parallel()
	_, h := largeHub(t, 10_000)
	for name, f := range h.feeds {
		message, _, _, err := f.next(0)
		if err != nil {
			t.Fatal(err)
		}
		n := deflated(t, message.message)
		t.Logf("%s: %d bytes first, %d deflated", name, len(message.message), n)
		if n > 400<<10 {
			t.Errorf("%s: %d bytes deflated", name, n)
		}
	}
}

func deflated(t *testing.T, b []byte) int {
	t.Helper()
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, deflateHard)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(b); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Len()
}

// BenchmarkHubChange is what a change costs the server, whatever the number of
// boards: all three boards brought up to it, and their messages made once. Goal:
// under 1 ms with 10,000 open batches.
func BenchmarkHubChange(b *testing.B) {
	for _, batches := range []int{largeBatches, 10_000} {
		b.Run(fmt.Sprint(batches), func(b *testing.B) {
			d, h := largeHub(b, batches)
			at := map[string]uint64{}
			for name, f := range h.feeds {
				_, at[name], _, _ = f.next(0)
			}
			i := 0
			for b.Loop() {
				b.StopTimer()
				i++
				d.change(i * 7)
				h.drawn = d.now // every place is looked at each half minute only
				b.StartTimer()
				h.pull()
				for name, f := range h.feeds {
					_, at[name], _, _ = f.next(at[name])
				}
			}
		})
	}
}
