package oldlog

import (
	"cmp"
	"slices"
	"strconv"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// step is what the rows say of a batch at an operation, and what must have
// become of its pieces there.
type step struct {
	op                           traveler.Op
	good, scrap, rework, review  int // as the rows count them; of several passes the best one
	said                         bool
	out, in                      int // went on; came in at least
	reworkOut, reviewOut, passed int // still out; went on uncounted
	missing                      int
}

// reckon works out what became of the pieces at each operation and says it:
// afterwards what came in at one is what the one before let go, and what came in
// is good, scrap, out for rework, set aside, missing, or still to do.
func (s *course) reckon() {
	steps := s.steps()
	if len(steps) == 0 {
		return
	}
	n := s.f.Batches[0].Started
	fit(steps, n)
	if !slices.ContainsFunc(steps, func(x step) bool { return x.said }) {
		// Nobody counted anything at all: nothing says that a piece was good.
		if !s.over {
			return
		}
		flow(steps, n, s.over)
		last := &steps[len(steps)-1]
		last.said, last.out, last.missing = true, 0, n
	} else {
		flow(steps, n, s.over)
	}
	decided := 0
	for i := range steps {
		decided += s.decide(&steps[i])
	}
	if decided > 0 {
		s.refold()
	}
	for i := range steps {
		s.reckoned(&steps[i])
	}
	s.refold()
}

// fit works backward from the last operation: what must have come into each,
// given what was counted there and later. Surplus of a second pass is taken off:
// first pieces that came back from rework, then from review, then good ones that
// were counted again.
func fit(steps []step, n int) {
	room := make([]int, len(steps)) // pieces that can have come in
	for k := range steps {
		room[k] = n
		n -= steps[k].scrap
	}
	need := 0
	for k := len(steps) - 1; k >= 0; k-- {
		x := &steps[k]
		x.out = max(x.good, need)
		x.reworkOut, x.reviewOut = x.rework, x.review
		for _, part := range []struct {
			n     *int
			least int
		}{{&x.reworkOut, 0}, {&x.reviewOut, 0}, {&x.out, need}} {
			over := x.scrap + x.out + x.reworkOut + x.reviewOut - room[k]
			*part.n -= min(max(0, over), *part.n-part.least)
		}
		x.in = x.scrap + x.out + x.reworkOut + x.reviewOut
		need = x.in
	}
}

// flow lets the pieces run forward: what nobody counted at an operation went on,
// what others were counted there and these not is missing once the batch is
// over.
func flow(steps []step, n int, over bool) {
	for k := range steps {
		x := &steps[k]
		if !x.said {
			x.out = n - x.scrap
			n = x.out
			continue
		}
		back := x.rework - x.reworkOut + x.review - x.reviewOut
		x.passed = max(0, x.out-x.good-back)
		if over {
			x.missing = n - x.scrap - x.out
			x.reworkOut, x.reviewOut = 0, 0
		}
		n = x.out
	}
}

// steps adds the batch's visits up by operation, in the order of its route.
// Operations that it passed over are none.
func (s *course) steps() (out []step) {
	b := &s.f.Batches[0]
	for i := range b.Ops {
		x, seen := step{op: b.Ops[i].Number}, false
		pass, last := 0, -1
		for j := range s.order {
			v := s.order[j]
			if v.Operation != x.op {
				continue
			}
			seen = true
			if s.p.Apart && last >= 0 && last < j-1 {
				pass = 0 // other work lay between: it came once more
			}
			last = j
			pass += v.Good
			x.good = max(x.good, pass)
			x.scrap, x.rework, x.review = x.scrap+v.Scrap, x.rework+v.Rework, x.review+v.Review
			x.said = x.said || v.Good+v.Scrap+v.Rework+v.Review > 0
		}
		if seen {
			out = append(out, x)
		}
	}
	return out
}

// reckoned says what became of the pieces at an operation, unless that was said
// already. Pieces that were set aside and are no more are decided about, too.
func (s *course) reckoned(x *step) {
	before := slices.ContainsFunc(s.f.Batches[0].Reckoned,
		func(r story.Reckoning) bool { return r.Operation == x.op })
	if !x.said {
		if !before {
			return // what came in went on, as for everyone who leaves an operation uncounted
		}
		x.passed = x.out
	}
	if !before && s.fits(x) {
		return
	}
	want := story.Reckoning{Operation: x.op, Good: x.out, Passed: x.passed, Rework: x.reworkOut,
		Review: x.reviewOut, Missing: x.missing}
	said := 0
	for _, e := range s.record {
		if e.Scan != nil && e.Scan.For == story.ForLog && e.Scan.Operation == x.op {
			said++
		}
	}
	if slices.Contains(s.f.Batches[0].Reckoned, want) {
		return
	}
	d := s.pl.scan(s.j.end(), traveler.Office, traveler.ActDecide)
	d.ID = scanID(d.At, rankReckon, s.j.batch+"\x00"+story.ForLog+x.op.String(), byte(said))
	d.For, d.Operation, d.Good, d.Pieces, d.Anyway = story.ForLog, x.op, yes(x.out), x.passed, false
	d.Missing = yes(x.missing)
	for _, l := range []struct {
		n  int
		to *[]traveler.Loss
	}{{x.reworkOut, &d.Rework}, {x.reviewOut, &d.Review}} {
		if l.n > 0 {
			*l.to = []traveler.Loss{{Reason: traveler.FromLog, N: l.n}}
		}
	}
	if s.say(d) == 0 {
		return
	}
	r := &s.p.Report
	r.Passed += x.passed
	r.CountedAgain += max(0, x.good-x.out)
}

// fits reports whether the counts of the rows come to the same by themselves.
func (s *course) fits(x *step) bool {
	t := s.f.Tallies(0)[slices.IndexFunc(s.f.Batches[0].Ops,
		func(o traveler.Operation) bool { return o.Number == x.op })]
	return t.Good == x.out && t.Assumed == x.passed && t.ReworkOpen == x.reworkOut &&
		t.ReviewOpen == x.reviewOut && t.Missing == x.missing
}

// decide says of pieces that were set aside, and are counted further on or
// nowhere, that they were good or are missing.
func (s *course) decide(x *step) (said int) {
	open := 0
	for _, v := range s.order {
		if v.Operation == x.op {
			open += v.Review
		}
	}
	for _, d := range s.f.Batches[0].Decisions {
		if d.Operation == x.op && d.FromReview {
			open -= d.Good + d.Concession + d.Scrap + d.Rework + d.Miss
		}
	}
	gone := open - x.reviewOut
	if !x.said || gone <= 0 {
		return 0
	}
	good := min(gone, max(0, x.out-x.good))
	d := s.pl.scan(s.j.end(), traveler.Office, traveler.ActDecide)
	d.ID = scanID(d.At, rankBack,
		s.j.batch+" review "+x.op.String()+" "+strconv.Itoa(gone)+" of "+strconv.Itoa(open), 0)
	d.Operation, d.Anyway, d.Good, d.Missing = x.op, false, yes(good), yes(gone-good)
	return s.say(d)
}

// inOrder lists the visits by when they came.
func inOrder(f *story.Family) []*story.Visit {
	out := make([]*story.Visit, len(f.Visits))
	for i := range f.Visits {
		out[i] = &f.Visits[i]
	}
	slices.SortStableFunc(out, func(a, b *story.Visit) int {
		return cmp.Or(a.Arrived.Compare(b.Arrived), cmp.Compare(a.Operation, b.Operation))
	})
	return out
}
