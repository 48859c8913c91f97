package story

import (
	"slices"
	"tallywalk/traveler"
	"time"
)

// Versions of a family share what they have in common. What only grows while
// events are folded (lines, the scans of a visit, its losses) is appended in
// place by the newest version; older ones look no further than their own
// length. What is changed in place (batches, visits, spans) is copied by each
// version. Adding to a version that is not the newest folds it again first.
//
// Along the way the newest version keeps marks: earlier versions, dense near the
// end and ever sparser before, so that what comes a little late folds a little.

// versions is what only the newest version of a family may use.
type versions struct {
	shop    *traveler.Shop // under which the marks were folded
	n       int            // length of the newest version's record
	marks   []mark
	last    map[traveler.DeviceID]lastScan
	widest  time.Duration // largest possible error of the events' clocks
	arrived time.Time     // of the latest arrival
	// corrected says that some scan corrects another: then times are worked out
	// for the whole record.
	corrected bool
	counted   bool // last, widest, arrived and corrected are filled in
	// recent is when the last entries arrived, in a ring from turn on.
	recent [hotScans]time.Time
	turn   int
}

// mark is a frozen version that has folded the first events.
type mark struct {
	events int
	f      *Family
}

// lastScan is the scan of a device with its highest number.
type lastScan struct {
	n  uint64
	id traveler.ScanID
	at time.Time
}

func newVersions(shop *traveler.Shop, n int) *versions { return &versions{shop: shop, n: n} }

// markEvery is how many events lie between two marks at least. A batch that
// many scan at once has them closer, since its scans overtake each other: then
// hotScans came within hotTime.
const (
	markEvery = 64
	hotScans  = 8
	hotTime   = 2 * time.Minute
)

// markGap is the smallest gap between marks of a family as it is now.
func (s *versions) markGap(f *Family) int {
	if s.recent[s.turn].IsZero() || s.recent[(s.turn+hotScans-1)%hotScans].Sub(s.recent[s.turn]) > hotTime {
		return markEvery
	}
	step := 1
	for step < markEvery && step*32 < len(f.Visits)+len(f.Spans) {
		step *= 2 // what a mark holds is not small
	}
	return step
}

// worthMark reports whether a version after i of n events is to be kept: the
// gaps are at most half as long as the way from there to the end.
func worthMark(i, n, least int) bool {
	step := least
	for step*4 <= n-i {
		step *= 2
	}
	return i > 0 && i%step == 0
}

// keepMark keeps the version after i of n events as a mark, if it is worth it. A
// version that is frozen is kept as it is.
func (s *versions) keepMark(f *Family, i, n int, frozen bool) {
	least := s.markGap(f)
	if !worthMark(i, n, least) || (len(s.marks) > 0 && s.marks[len(s.marks)-1].events >= i) {
		return
	}
	s.marks = slices.DeleteFunc(s.marks, func(m mark) bool { return !worthMark(m.events, n, least) })
	if !frozen {
		f = f.clone()
	}
	s.marks = append(s.marks, mark{i, f})
}

// ThinMarks lets go of what a family keeps while many scan it at once. It is for the
// one who adds.
func (f *Family) ThinMarks() {
	s := f.versions
	s.recent = [hotScans]time.Time{}
	s.marks = slices.DeleteFunc(s.marks,
		func(m mark) bool { return !worthMark(m.events, len(f.events), markEvery) })
}

// markBefore gives the last mark after at most i events; nil = none.
func (s *versions) markBefore(i int) *Family {
	for k := len(s.marks) - 1; k >= 0; k-- {
		if s.marks[k].events <= i {
			return s.marks[k].f
		}
	}
	return nil
}

// drop forgets the marks after more than i events.
func (s *versions) drop(i int) {
	s.marks = slices.DeleteFunc(s.marks, func(m mark) bool { return m.events > i })
}

// count fills in what a late scan is placed by.
func (s *versions) count(events []event, record []*traveler.Entry) {
	if s.counted {
		return
	}
	s.counted, s.last = true, map[traveler.DeviceID]lastScan{}
	s.corrected, s.widest, s.arrived = false, 0, time.Time{}
	for i := range events {
		s.add(&events[i])
	}
	for _, e := range record {
		if e.Arrived.After(s.arrived) {
			s.arrived = e.Arrived
		}
	}
}

// add counts an event in.
func (s *versions) add(ev *event) {
	if !s.counted {
		return
	}
	scan := ev.e.Scan
	s.widest = max(s.widest, ev.within)
	s.corrected = s.corrected || scan.Action == traveler.ActCorrect
	if ev.e.Arrived.After(s.arrived) {
		s.arrived = ev.e.Arrived
	}
	if l := s.last[scan.Device]; ev.chained() && (scan.N > l.n || scan.N == l.n && scan.ID > l.id) {
		s.last[scan.Device] = lastScan{scan.N, scan.ID, ev.at}
	}
}

// newest reports whether no other version came after the receiver.
func (f *Family) newest() bool { return f.versions.n == len(f.record) }

// clone copies what folding changes in place; the rest is shared. Only the
// newest version may go on from it as it is, see unshared.
func (f *Family) clone() *Family {
	n := *f
	n.Batches = slices.Clone(f.Batches)
	n.Visits = slices.Clone(f.Visits)
	n.Spans = slices.Clone(f.Spans)
	n.Closed = slices.Clone(f.Closed)
	return &n
}

// unshared is a clone that shares nothing that grows, so that events can be folded
// after it that differ from those folded before.
func (f *Family) unshared() *Family {
	n := f.clone()
	n.Lines = f.Lines.unshared()
	n.misfits, n.Settled, n.Trips = slices.Clip(f.misfits), slices.Clip(f.Settled), slices.Clip(f.Trips)
	for i := range n.Visits {
		v := &n.Visits[i]
		v.Scans, v.Losses, v.seen = slices.Clip(v.Scans), slices.Clip(v.Losses), slices.Clip(v.seen)
	}
	return n
}

// keep adds an entry to the record of the newest version.
func (f *Family) keep(e *traveler.Entry) {
	f.record = append(f.record, e)
	s := f.versions
	s.n++
	s.recent[s.turn], s.turn = e.Arrived, (s.turn+1)%hotScans
}
