package measure

import (
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// decided moves the pieces that a visit set aside to what was decided about
// them. Decisions name an operation, not a visit: they are spent on the visits
// that set pieces aside there, the first one first. What is decided beyond what
// was ever set aside, because someone took a count back, belongs to the last of
// them.
func decided(f *story.Family, visit int, out *story.VisitFact) {
	v := &f.Visits[visit]
	b := &f.Batches[v.Batch]
	var ahead, last = 0, true // pieces that earlier visits set aside; no later visit is at the operation
	for j := range f.Visits {
		if x := &f.Visits[j]; j != visit && x.Batch == v.Batch && reviewedAt(x) == reviewedAt(v) {
			if j < visit {
				ahead += x.Review
			}
			last = last && j < visit
		}
	}
	share := reviewShare{skip: ahead, left: v.Review, all: last}
	for i := range b.Decisions {
		if d := &b.Decisions[i]; d.FromReview && d.Operation == reviewedAt(v) {
			share.take(d, v, out)
		}
	}
}

// reviewedAt is the operation whose review a visit's pieces belong to.
func reviewedAt(v *story.Visit) traveler.Op {
	if v.ReworkFor != 0 {
		return v.ReworkFor
	}
	return v.Operation
}

// reviewShare is what one visit has of the decided pieces: after skip of them,
// as many as it set aside; all that follow if no other visit comes after it.
type reviewShare struct {
	skip, left int
	all        bool
}

// of is how many of n decided pieces are the visit's.
func (s *reviewShare) of(n int) int {
	passed := min(s.skip, n)
	s.skip -= passed
	n -= passed
	if !s.all {
		n = min(n, s.left)
	}
	s.left = max(0, s.left-n)
	return n
}

// take spends a decision.
func (s *reviewShare) take(d *story.Decision, v *story.Visit, out *story.VisitFact) {
	settle := func(n int, to *int) {
		n = s.of(n)
		*to += n
		out.Review = max(0, out.Review-n)
	}
	for _, l := range d.Losses {
		to := &out.Scrap
		if l.Outcome == string(LossRework) {
			to = &out.Rework
		}
		before := *to
		settle(l.N, to)
		if l.N = *to - before; l.N == 0 {
			continue
		}
		x := lossFact(v.Operation, blamed(l, v))
		x.Decided = d.At
		out.Losses = append(out.Losses, x)
	}
	settle(d.Good, &out.Good)
	conceded := out.Good
	settle(d.Concession, &out.Good)
	out.Conceded += out.Good - conceded
	settle(d.Miss, &out.Missing)
}

// blamed gives a decided loss the reason and the cause that were said when the
// pieces were set aside, where the decision says none.
func blamed(l story.LossAt, v *story.Visit) story.LossAt {
	for i := range v.Losses {
		x := &v.Losses[i]
		if x.Outcome != string(LossReview) {
			continue
		}
		if l.Reason == "" {
			l.Reason = x.Reason
		}
		if l.CausedAt == 0 && l.Reason == x.Reason {
			l.CausedAt = x.CausedAt
		}
	}
	return l
}
