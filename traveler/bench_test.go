package traveler_test

import (
	"fmt"
	"testing"
	"time"

	. "tallywalk/traveler"
)

// longFamily is a family with n scans along a route of ten operations.
func longFamily(n int) (*Shop, *Family) {
	c := &Change{From: day}
	r := Route{Part: "P", Rev: "A"}
	for i := 1; i <= 10; i++ {
		code, _ := NewCode(KindMachine, uint64(i))
		wc := WorkCentre(fmt.Sprint("W", i))
		c.Machines = append(c.Machines, Machine{ID: MachineID(wc), Code: code, WorkCentre: wc, X: float64(i)})
		r.Operations = append(r.Operations, Operation{Number: Op(10 * i), WorkCentre: wc, PiecesPerCycle: 1})
	}
	c.Routes = []Route{r}
	shop := new(Shop).With(c)
	root, _ := NewCode(KindBatch, 3)
	f := Tell(shop, []*Entry{{Seq: 1, Arrived: day, Card: root, Rules: Rules, Release: &Release{Part: "P", RouteRev: "A", Pieces: n}}})
	for i := range n {
		f, _ = f.Hear(shop, benchEntry(root, i, n))
	}
	return shop, f
}

// benchEntry is the i-th of n scans: at each machine a set-up, a run, and many
// counts.
func benchEntry(root Code, i, n int) *Entry {
	per := max(1, n/10)
	at := day.Add(time.Duration(i) * time.Minute)
	one := 1
	s := &Scan{ID: ScanID(fmt.Sprintf("00000000-0000-7000-8000-%012x", i+1)), At: at, Action: ActCount, Good: &one, Device: "D1", N: uint64(i + 1)}
	switch i % per {
	case 0:
		s.Action, s.Good = ActSetup, nil
	case 1:
		s.Action, s.Good = ActRun, nil
	}
	return &Entry{Seq: Seq(i + 2), Arrived: at, Card: root, Scan: s, Machine: MachineID(fmt.Sprint("W", 1+min(9, i/per))), By: Actor{Name: "a", Role: RoleOperator}}
}

// BenchmarkNewest applies the newest scan of a family of 60 and of 500.
func BenchmarkNewest(b *testing.B) {
	for _, n := range []int{60, 500} {
		shop, base := longFamily(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			f, i := base, n
			for b.Loop() {
				if i++; i == n+n/10 {
					f, i = base, n+1
				}
				f, _ = f.Hear(shop, benchEntry(f.Root, i, n))
			}
		})
	}
}

// BenchmarkLate folds a family of 500 scans anew for one that comes late.
func BenchmarkLate(b *testing.B) {
	shop, f := longFamily(500)
	e := benchEntry(f.Root, 10, 500)
	e.Seq, e.Scan.Device, e.Arrived = 600, "", day.Add(600*time.Minute)
	b.ReportAllocs()
	for b.Loop() {
		f.Hear(shop, e)
	}
}
