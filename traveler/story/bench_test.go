package story_test

import (
	"fmt"
	"testing"
	"time"

	. "tallywalk/traveler"
	. "tallywalk/traveler/story"
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
	f := Fold(shop, []*Entry{
		{Seq: 1, Arrived: day, Card: root, Rules: Rules,
			Release: &Release{Part: "P", RouteRev: "A", Pieces: n}}})
	for i := range n {
		f, _ = f.Add(shop, benchEntry(root, i, n))
	}
	return shop, f
}

// benchEntry is the i-th of n scans: at each machine a set-up, a run, and many
// counts.
func benchEntry(root Code, i, n int) *Entry {
	per := max(1, n/10)
	at := day.Add(time.Duration(i) * time.Minute)
	one := 1
	s := &Scan{ID: ScanID(fmt.Sprintf("00000000-0000-7000-8000-%012x", i+1)), At: at, Action: ActCount,
		Good: &one, Device: "D1", N: uint64(i + 1)}
	switch i % per {
	case 0:
		s.Action, s.Good = ActSetup, nil
	case 1:
		s.Action, s.Good = ActRun, nil
	}
	return &Entry{Seq: Seq(i + 2), Arrived: at, Card: root, Scan: s,
		Machine: MachineID(fmt.Sprint("W", 1+min(9, i/per))), By: Actor{Name: "a", Role: RoleOperator}}
}

// BenchmarkNewest applies the newest scan of a family of 60, 500 and 5,000.
func BenchmarkNewest(b *testing.B) {
	for _, n := range []int{60, 500, 5000} {
		shop, base := longFamily(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			f, i := base, n
			for b.Loop() {
				if i++; i == n+n/10 {
					b.StopTimer()
					f, i = Fold(shop, base.Record()), n+1
					b.StartTimer()
				}
				f, _ = f.Add(shop, benchEntry(f.Root, i, n))
			}
		})
	}
}

// BenchmarkLate adds one scan that happened before the newest 100 of a family
// of 500 to 50,000. Goal: under 2 ms.
func BenchmarkLate(b *testing.B) {
	for _, n := range []int{500, 5000, 50000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) { lateBy(b, n, 100) })
	}
}

// BenchmarkLateByAll adds one scan that happened before all others of a family.
// Goal: under 3 ms of 500, under 40 ms of 5,000.
func BenchmarkLateByAll(b *testing.B) {
	for _, n := range []int{500, 5000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) { lateBy(b, n, n-2) })
	}
}

// lateBy adds scans that come late by so many, one after the other.
func lateBy(b *testing.B, n, by int) {
	shop, f := longFamily(n)
	b.ReportAllocs()
	k := 0
	for b.Loop() {
		k++
		e := benchEntry(f.Root, n-by, n)
		e.Seq, e.Arrived = Seq(n+1+k), day.Add(time.Duration(n+1)*time.Minute)
		e.Scan.ID, e.Scan.Device, e.Scan.N = ScanID(fmt.Sprintf("00000000-0000-7000-9000-%012x", k)), "", 0
		e.Scan.At = e.Scan.At.Add(time.Duration(k) * time.Millisecond)
		no := false
		e.Scan.Present = &no
		f, _ = f.Add(shop, e)
	}
}
