package plain

import (
	"time"

	"tallywalk/traveler"
)

// counter notes what a machine's counter shows, and the pieces since it last
// did.
func (st *stay) counter(s *traveler.Scan) {
	if s.Reads == nil {
		return
	}
	if s.Action == traveler.ActCount || s.Action == traveler.ActFinish {
		n := *s.Reads
		if st.reads != nil && n >= *st.reads { // else it was set to zero in between
			n -= *st.reads
		}
		// It counts the pieces that turned out bad as well.
		st.good += max(0, n-losses(s.Scrap)-losses(s.Rework)-losses(s.Review))
	}
	st.reads = s.Reads
}

// mustRun notes that pieces cannot have been made without a run: from when the
// set-up was over, or from when the batch came; a set-up that nobody ended went
// over into it when they were counted.
func (st *stay) mustRun(at time.Time) {
	from := st.began
	if n := len(st.spans); n > 0 {
		last := &st.spans[n-1]
		switch {
		case last.kind == traveler.ActRun &&
			last.to.IsZero(), last.kind == traveler.ActStop, last.kind == traveler.ActSend:
			return
		case last.to.IsZero():
			last.to, from = at, at
		default:
			from = last.to
		}
	}
	st.spans = append(st.spans, span{kind: traveler.ActRun, from: from})
}

// over reports whether a stay has ended once the batch is seen at another: it
// had come further there, or had stopped here. Rework goes on until the batch
// is beyond what it is for; what is away goes on until it comes back.
func (st *stay) over(at *stay) bool {
	last := traveler.ActArrive
	if n := len(st.spans); n > 0 {
		last = st.spans[n-1].kind
	}
	switch {
	case last == traveler.ActSend:
		return false
	case st.rework != 0 && at.rework == 0:
		return at.op >= st.rework
	case st.rework == 0 && at.rework != 0, st.rework == 0 && st.op > at.op:
		return false
	case st.op == at.op && st.rework == at.rework:
		return last == traveler.ActStop || last == traveler.ActArrive
	}
	return true
}

// turn ends what goes on and begins something else.
func (st *stay) turn(kind traveler.Action, at time.Time) {
	if n := len(st.spans); n > 0 && st.spans[n-1].to.IsZero() {
		if st.spans[n-1].kind == kind && kind == traveler.ActRun {
			return
		}
		st.spans[n-1].to = at
	}
	st.spans = append(st.spans, span{kind: kind, from: at})
}

func (st *stay) firstOff(x *said) {
	verdict := x.s.HasCounts()
	n := len(st.spans)
	running := n > 0 && st.spans[n-1].to.IsZero() && st.spans[n-1].kind == traveler.ActRun
	switch {
	case !verdict:
		st.awaits = true
		st.turn(traveler.ActFirstOff, x.when)
		return
	case running:
	case number(x.s.Good) > 0:
		st.close(x.when)
	default:
		st.turn(traveler.ActSetup, x.when)
	}
	st.awaits = false
}

// back notes that pieces came back from outside; the last ones end the stay.
func (st *stay) back(at time.Time) {
	if n := len(st.spans); n > 0 && st.spans[n-1].kind == traveler.ActSend {
		st.spans[n-1].to = at
	}
}

func (st *stay) close(at time.Time) {
	if n := len(st.spans); n > 0 && st.spans[n-1].to.IsZero() {
		st.spans[n-1].to = at
	}
}

func number(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}

func losses(list []traveler.Loss) (n int) {
	for _, l := range list {
		n += l.N
	}
	return n
}
