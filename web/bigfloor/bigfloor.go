// Package bigfloor is a shop with many machines and open batches, without a store,
// for tests.
package bigfloor

import (
	"crypto/sha256"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// Floor is the desk of the shop.
type Floor struct {
	story.Desk
	shop     *traveler.Shop
	Families []*story.Family
	seq      traveler.Seq
	Now      time.Time
	changed  chan struct{}
	left     []*story.Family // off the floor
	moved    []traveler.Code // since version 1
}

// Shop is what the shop is made of.
func (d *Floor) Shop() *traveler.Shop { return d.shop }

// Changed returns a channel that is never closed.
func (d *Floor) Changed() <-chan struct{} { return d.changed }

// Facts are those of families that have left the floor: the hub works out those of the
// others itself. It never fails.
func (d *Floor) Facts(_ story.FactQuery, yield func(*story.BatchFact) bool) error {
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

// ChangedSince gives the families that changed after a version.
func (d *Floor) ChangedSince(version uint64) (map[traveler.Code]*story.Family, uint64, bool) {
	now := uint64(len(d.moved)) + 1
	if version == 0 {
		return nil, now, false
	}
	out := map[traveler.Code]*story.Family{}
	for _, root := range d.moved[version-1:] {
		out[root] = nil
		if i := slices.IndexFunc(d.Families, func(f *story.Family) bool { return f.Root == root }); i >= 0 {
			out[root] = d.Families[i]
		}
	}
	return out, now, true
}

// Open calls yield for every family on the floor.
func (d *Floor) Open(yield func(*story.Family) bool) {
	for _, f := range d.Families {
		if !yield(f) {
			return
		}
	}
}

// How large the shop is.
const (
	largeMachines = 60
	Batches       = 500 // on the floor of a large shop
)

// New has every batch some way along its route, some of them at work.
func New(batches int) *Floor {
	d := &Floor{Now: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC), changed: make(chan struct{})}
	c := Shop(d.Now)
	d.shop = new(traveler.Shop).With(c)
	for i := range batches {
		d.Families = append(d.Families, d.batch(c, i))
	}
	return d
}

// Shop is what the shop is made of.
func Shop(now time.Time) *traveler.Change {
	c := &traveler.Change{From: now.AddDate(-1, 0, 0), Layout: &traveler.Layout{}}
	for i := range largeMachines {
		id := traveler.MachineID(fmt.Sprintf("M%02d", i))
		c.Machines = append(c.Machines, traveler.Machine{
			ID: id, Name: "Machine in bay " + fmt.Sprint(i),
			WorkCentre: traveler.WorkCentre(fmt.Sprintf("CENTRE%d", i%15)), X: float64(i%10) * 6,
			Y: float64(i/10) * 8,
		})
		k := fmt.Sprintf("K%d", i%10)
		if i < 10 {
			c.Layout.Corners = append(c.Layout.Corners, traveler.Corner{ID: k, X: float64(i) * 6, Y: 4})
			if i > 0 {
				c.Layout.Aisles = append(c.Layout.Aisles,
					traveler.Aisle{From: fmt.Sprintf("K%d", i-1), To: k})
			}
		}
		c.Layout.Aisles = append(c.Layout.Aisles, traveler.Aisle{From: string(id), To: k})
	}
	for p := range 40 {
		r := traveler.Route{Part: fmt.Sprintf("4711-%02d", p), PartName: "Bearing bracket", Rev: "3"}
		for k := range 6 {
			r.Operations = append(
				r.Operations,
				traveler.Operation{
					Number:     traveler.Op(10 * (k + 1)),
					WorkCentre: traveler.WorkCentre(fmt.Sprintf("CENTRE%d", (p+4*k)%15)),
					SetupMin:   30, CycleMin: 3, PiecesPerCycle: 1, Clampings: 1,
				},
			)
		}
		c.Routes = append(c.Routes, r)
	}
	return c
}

func (d *Floor) batch(c *traveler.Change, i int) *story.Family {
	card, ok := traveler.Code(""), false
	for n := uint64(i) * 64; !ok; n++ {
		card, ok = traveler.NewCode(traveler.KindBatch, n)
	}
	r := &c.Routes[i%len(c.Routes)]
	d.seq++
	start := d.Now.Add(-time.Duration(i)*time.Hour - time.Duration(i*7919%3_600_000)*time.Millisecond)
	release := &traveler.Release{
		ID: d.id(), Part: r.Part, RouteRev: r.Rev, Pieces: 60, WorksOrder: fmt.Sprintf("W-%d", 4000+i),
		Due: d.Now.AddDate(0, 0, i%20-5),
	}
	f := story.Fold(d.shop, []*traveler.Entry{
		{Seq: d.seq, Arrived: start, Card: card, Rules: story.Rules, Release: release},
	})
	for k := range i % 5 {
		m := traveler.MachineID(fmt.Sprintf("M%02d", (i%40+4*k)%15))
		f = d.hear(f, card, m, traveler.ActRun, 0, start.Add(time.Duration(2*k+1)*time.Minute))
		if k < i%5-1 || i%3 > 0 {
			f = d.hear(f, card, m, traveler.ActFinish, 60, start.Add(time.Duration(2*k+2)*time.Minute))
		}
	}
	return f
}

func (d *Floor) id() traveler.ScanID {
	h := sha256.Sum256(fmt.Append(nil, d.seq)) // as hard to deflate as a real one
	return traveler.ScanID(fmt.Sprintf("%x-%x-7%x-8%x-%x", h[:4], h[4:6], h[6:8], h[8:10], h[10:16])[:36])
}

func (d *Floor) hear(
	f *story.Family, card traveler.Code, m traveler.MachineID, act traveler.Action, good int, at time.Time,
) *story.Family {
	d.seq++
	s := &traveler.Scan{ID: d.id(), At: at, Station: string(m), Card: string(card), Action: act,
		Operator: "11"}
	if good > 0 {
		s.Good = &good
	}
	next, _ := f.Add(
		d.shop,
		&traveler.Entry{
			Seq: d.seq, Arrived: at, Card: card, Machine: m, Scan: s,
			By: traveler.Actor{Name: "station", Role: traveler.RoleOperator},
		},
	)
	return next
}

// Count lets one piece be counted somewhere.
func (d *Floor) Count(i int) {
	i %= len(d.Families)
	f := d.Families[i]
	d.moved = append(d.moved, f.Root)
	d.Now = d.Now.Add(time.Second)
	for j := range f.Visits {
		if v := &f.Visits[j]; v.Open() {
			d.Families[i] = d.hear(f, f.Root, v.Machine, traveler.ActCount, 1, d.Now)
			return
		}
	}
	d.Families[i] = d.hear(
		f, f.Root, traveler.MachineID(fmt.Sprintf("M%02d", (i%40+4*(i%5))%15)), traveler.ActSetup, 0, d.Now,
	)
}

// Leave takes a family off the floor that nothing was said of for long: boards
// have seen it as it is.
func (d *Floor) Leave(i int) {
	f := d.Families[i]
	d.Families = append(d.Families[:i:i], d.Families[i+1:]...)
	d.left, d.moved = append(d.left, f), append(d.moved, f.Root)
}

// Stir does something at random: a scan somewhere, or a batch is released.
func (d *Floor) Stir(rng *rand.Rand, c *traveler.Change) {
	i := rng.IntN(len(d.Families))
	f := d.Families[i]
	switch machine := d.shop.Machines(d.Now)[rng.IntN(12)].ID; rng.IntN(8) {
	case 0:
		d.Families = append(d.Families, d.batch(c, 1000+len(d.moved)))
		d.moved = append(d.moved, d.Families[len(d.Families)-1].Root)
	case 1:
		d.Families[i] = d.hear(f, f.Root, machine, traveler.ActArrive, 0, d.Now)
		d.moved = append(d.moved, f.Root)
	case 2:
		d.Families[i] = d.hear(f, f.Root, machine, traveler.ActFinish, 60, d.Now)
		d.moved = append(d.moved, f.Root)
	case 3:
		d.Families[i] = d.hear(f, f.Root, machine, traveler.ActHold, 0, d.Now)
		d.moved = append(d.moved, f.Root)
	default:
		d.Count(i)
	}
}

// TooMany counts more than there can be, and says it anyway: that opens a
// question.
func (d *Floor) TooMany(f *story.Family) *story.Family {
	d.seq++
	n := 90
	s := &traveler.Scan{
		ID: d.id(), At: d.Now, Station: "M01", Card: string(f.Root), Action: traveler.ActCount, Good: &n,
		Anyway: true, Reason: "counted twice",
	}
	next, _ := f.Add(
		d.shop,
		&traveler.Entry{
			Seq: d.seq, Arrived: d.Now, Card: f.Root, Machine: "M01", Scan: s,
			By: traveler.Actor{Name: "a", Role: traveler.RoleSupervisor},
		},
	)
	return next
}
