package web

import (
	"bytes"
	"compress/flate"
	"fmt"
	"log/slog"
	"testing"
	"time"

	"tallywalk/traveler"
)

// floor is a shop with many machines and open batches, told without a store.
type floor struct {
	traveler.Desk
	shop     *traveler.Shop
	families []*traveler.Family
	seq      traveler.Seq
	now      time.Time
	changed  chan struct{}
}

func (d *floor) Shop() *traveler.Shop                                           { return d.shop }
func (d *floor) Changed() <-chan struct{}                                       { return d.changed }
func (d *floor) Facts(traveler.FactQuery, func(*traveler.BatchFact) bool) error { return nil }
func (d *floor) Open(yield func(*traveler.Family) bool) {
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
func largeFloor() *floor {
	d := &floor{now: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC), changed: make(chan struct{})}
	c := &traveler.Change{From: d.now.AddDate(-1, 0, 0), Layout: &traveler.Layout{}}
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
	d.shop = new(traveler.Shop).With(c)
	for i := range largeBatches {
		d.families = append(d.families, d.batch(c, i))
	}
	return d
}

func (d *floor) batch(c *traveler.Change, i int) *traveler.Family {
	card, ok := traveler.Code(""), false
	for n := uint64(i) * 64; !ok; n++ {
		card, ok = traveler.NewCode(traveler.KindBatch, n)
	}
	r := &c.Routes[i%len(c.Routes)]
	d.seq++
	start := d.now.Add(-time.Duration(i) * time.Hour)
	f := traveler.Tell(d.shop, []*traveler.Entry{{Seq: d.seq, Arrived: start, Card: card, Rules: traveler.Rules, Release: &traveler.Release{
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
	return traveler.ScanID(fmt.Sprintf("00000000-0000-7000-8000-%012d", d.seq))
}

func (d *floor) hear(f *traveler.Family, card traveler.Code, m traveler.MachineID, act traveler.Action, good int, at time.Time) *traveler.Family {
	d.seq++
	s := &traveler.Scan{ID: d.id(), At: at, Station: string(m), Card: string(card), Action: act, Operator: "11"}
	if good > 0 {
		s.Good = &good
	}
	next, _ := f.Hear(d.shop, &traveler.Entry{Seq: d.seq, Arrived: at, Card: card, Machine: m, Scan: s, By: traveler.Actor{Name: "station", Role: traveler.RoleOperator}})
	return next
}

func largeHub(tb testing.TB) (*floor, *hub) {
	tb.Helper()
	d := largeFloor()
	s := &Server{cfg: Config{Desk: d, Now: func() time.Time { return d.now }, Zone: time.UTC, Log: slog.New(slog.DiscardHandler)}}
	return d, newHub(s)
}

// change lets one piece be counted somewhere.
func (d *floor) change(i int) {
	i %= len(d.families)
	f := d.families[i]
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
	d, h := largeHub(t)
	at := map[string]uint64{}
	for name, f := range h.feeds {
		message, seq, _, err := f.next(0)
		if err != nil {
			t.Fatal(err)
		}
		at[name] = seq
		if n := deflated(t, message); n > 60<<10 {
			t.Errorf("%s: %d bytes first, %d deflated", name, len(message), n)
		} else {
			t.Logf("%s: %d bytes first, %d deflated", name, len(message), n)
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
			if len(message) > 2<<10 {
				t.Fatalf("%s: a change of %d bytes: %s", name, len(message), message)
			}
		}
	}
}

func deflated(t *testing.T, b []byte) int {
	t.Helper()
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, flate.BestSpeed)
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
// under 1 ms.
func BenchmarkHubChange(b *testing.B) {
	d, h := largeHub(b)
	at := map[string]uint64{}
	for name, f := range h.feeds {
		_, at[name], _, _ = f.next(0)
	}
	i := 0
	for b.Loop() {
		b.StopTimer()
		i++
		d.change(i * 7)
		b.StartTimer()
		h.pull()
		for name, f := range h.feeds {
			_, at[name], _, _ = f.next(at[name])
		}
	}
}
