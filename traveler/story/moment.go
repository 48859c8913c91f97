package story

import (
	"slices"
	"strings"
	"tallywalk/traveler"
	"time"
)

// event is a scan with the time at which it happened, as far as is known, and
// with what later scans said of it.
type event struct {
	e         *traveler.Entry
	s         *traveler.Scan // as folded: the scan itself, or as corrected
	card      traveler.Code
	machine   traveler.MachineID
	at        time.Time
	within    time.Duration
	hint      int // place along the route, 0 = unknown
	uncertain bool
	suspect   bool       // uncertain before clocks were compared
	high      time.Time  // the latest time of it and of all that stand before it
	happened  *time.Time // when it is said to have happened, if not when it was made
	rules     int        // of its family
	released  time.Time  // when its family was: no clock says that it happened before

	fixes     []*event        // corrections that speak, the last one first
	fate      Fate            // set when a later scan took it out of the story
	by        traveler.ScanID // that scan
	force     bool            // a supervisor said to add it up
	restarted bool            // the device's counter began again before it
	aimed     bool            // of a control: the scan it is about was found
	denied    *misfit         // of a control: why it may not do that

	// While an event is folded: that it was checked already, and the tallies of
	// its batch before it.
	checked bool
	ts      []Tally
}

// maxError is the largest error of a clock that lets route order decide.
const maxError = 24 * time.Hour

func (f *Family) newEvent(e *traveler.Entry) event {
	s := e.Scan
	ev := event{e: e, s: s, card: e.Card, machine: e.Machine, happened: s.Happened, rules: f.Rules}
	if len(f.Batches) > 0 {
		ev.released = f.Batches[0].Released
	}
	if isControl(s) {
		ev.happened = nil // what a correction says of a time is about its target
	}
	ev.within = min(time.Duration(s.WithinMS)*time.Millisecond, maxError)
	return ev
}

// raw is when the scan is said to have happened, never after its arrival; suspect
// reports that its clock ran ahead of that.
//
// A clock that is far off says nothing: the scan stands at its arrival, which is
// known, until someone says when it was. No clock goes back far before the
// release, which asks, or before what its device said last.
func (ev *event) raw() (t time.Time, suspect bool) {
	t = ev.clock()
	switch {
	case ev.happened != nil:
		t = *ev.happened
	case ev.far():
		return ev.e.Arrived, true
	case ev.rules >= rulesClocks && !ev.e.FromLog():
		if ev.released.Sub(t) > maxEarly {
			t, suspect = ev.released, true
		}
		if t.Before(ev.e.NotBefore) {
			t, suspect = ev.e.NotBefore, true
		}
	}
	if t.After(ev.e.Arrived) {
		return ev.e.Arrived, true
	}
	return t, suspect
}

// clock is the time of the device's clock, put right by its offset.
func (ev *event) clock() time.Time { return ev.e.Scan.Clock() }

// far reports whether the clock of a scan that someone waits for is so far from
// the server's that it can't be right. One that says when it happened is
// someone's word.
func (ev *event) far() bool {
	return ev.rules >= rulesClocks && ev.happened == nil && ev.e.Scan.IsPresent() && !isControl(ev.e.Scan) &&
		!ev.e.FromLog() &&
		ev.clock().Sub(ev.e.Clocked()).Abs() > traveler.FarClock
}

// chained reports whether the device's counter orders this scan.
func (ev *event) chained() bool {
	return ev.e.Scan.Device != "" && ev.e.Scan.N > 0 && ev.happened == nil && !ev.restarted
}

// order sets the effective time of each event and sorts the events by it. The
// result does not depend on the order of arrival of scans that arrived after
// they happened.
func order(events []event) {
	setTimes(events)
	slices.SortFunc(events, byTime)
	restoreDevices(events)
	settleOverlaps(events)
	setHighs(events, time.Time{})
}

// setHighs notes with each event the latest time up to it, from what stands
// before all of them.
func setHighs(events []event, high time.Time) {
	for i := range events {
		if events[i].at.After(high) {
			high = events[i].at
		}
		events[i].high = high
	}
}

func byTime(a, b event) int {
	if c := a.at.Compare(b.at); c != 0 {
		return c
	}
	if a.hint != b.hint {
		return a.hint - b.hint
	}
	return strings.Compare(string(a.e.Scan.ID), string(b.e.Scan.ID))
}

// setTimes keeps the scans of one device in the order of its counter: none may
// have happened before an earlier one happened.
func setTimes(events []event) {
	byDevice := map[traveler.DeviceID][]*event{}
	for i := range events {
		ev := &events[i]
		ev.restarted = false
		ev.at, ev.uncertain = ev.raw()
		if ev.chained() {
			byDevice[ev.e.Scan.Device] = append(byDevice[ev.e.Scan.Device], ev)
		}
	}
	for _, chain := range byDevice {
		slices.SortFunc(chain, byCounter)
		chain = unbroken(chain)
		for i := 1; i < len(chain); i++ {
			if chain[i].at.Before(chain[i-1].at) {
				chain[i].at, chain[i].uncertain = chain[i-1].at, true
			}
		}
	}
	for i := range events {
		events[i].suspect = events[i].uncertain
	}
}

// unbroken leaves out scans that say they happened after one with a higher
// number had arrived already: the device's counter began again before them.
func unbroken(chain []*event) []*event {
	out := make([]*event, 0, len(chain))
	var lid *event
	for i := len(chain) - 1; i >= 0; i-- {
		if lid != nil && chain[i].at.After(lid.e.Arrived) {
			chain[i].uncertain, chain[i].restarted = true, true
			continue
		}
		lid = chain[i]
		out = append(out, lid)
	}
	slices.Reverse(out)
	return out
}

func byCounter(a, b *event) int {
	if a.e.Scan.N != b.e.Scan.N {
		if a.e.Scan.N < b.e.Scan.N {
			return -1
		}
		return 1
	}
	return strings.Compare(string(a.e.Scan.ID), string(b.e.Scan.ID))
}

// restoreDevices puts the scans of one device back into the order of its
// counter where equal times let route order or ids disturb it.
func restoreDevices(events []event) {
	for i := 0; i < len(events); {
		j := i + 1
		for j < len(events) && events[j].at.Equal(events[i].at) {
			j++
		}
		if j-i > 1 {
			restoreGroup(events[i:j])
		}
		i = j
	}
}

func restoreGroup(group []event) {
	places := map[traveler.DeviceID][]int{}
	for i := range group {
		if group[i].chained() {
			places[group[i].e.Scan.Device] = append(places[group[i].e.Scan.Device], i)
		}
	}
	for _, at := range places {
		own := make([]event, len(at))
		for i, p := range at {
			own[i] = group[p]
		}
		slices.SortFunc(own, func(a, b event) int { return byCounter(&a, &b) })
		for i, p := range at {
			group[p] = own[i]
		}
	}
}

// settleOverlaps lets route order decide where the clocks of two devices do
// not. Each pair changes places at most once, so it ends.
func settleOverlaps(events []event) {
	for i := 1; i < len(events); i++ {
		for j := i; j > 0 && swaps(&events[j-1], &events[j]); j-- {
			events[j-1].uncertain, events[j].uncertain = true, true
			events[j-1], events[j] = events[j], events[j-1]
		}
	}
}

// swaps reports whether b, which stands after a, belongs before it.
func swaps(a, b *event) bool {
	if a.hint == 0 || b.hint == 0 || b.hint >= a.hint || a.hint == behindAll {
		return false
	}
	if a.e.Scan.Device == b.e.Scan.Device {
		return false
	}
	return b.at.Sub(a.at) < a.within+b.within
}
