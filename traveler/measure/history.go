package measure

import (
	"slices"
	"time"

	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// Quantiles of a lead time. Each is given only from so many batches on that it
// means something: a median from six on has an interval, P95 needs twenty.
type Quantiles struct {
	N        int
	P50      time.Duration
	P80      time.Duration
	P85      time.Duration
	P95      time.Duration
	Max      time.Duration
	SD       time.Duration    // standard deviation, from two on
	P50In    [2]time.Duration // 95 % interval of the median, from order statistics
	P50Known bool             // N >= 1
	InKnown  bool             // N >= 6
	P80Known bool             // N >= 6; P85 with it
	P95Known bool             // N >= 20
}

// The numbers of batches from which a quantile is given.
const (
	FewForMedianInterval = 6
	FewForP80            = 6
	FewForP95            = 20
)

// QuantilesOf gives the quantiles of times in seconds (type 7). It sorts them.
func QuantilesOf(xs []float64) Quantiles {
	slices.Sort(xs)
	at := func(p float64) time.Duration { return secs(stat.Percentile(xs, p)) }
	q := Quantiles{N: len(xs)}
	if len(xs) == 0 {
		return q
	}
	q.P50Known, q.P80Known, q.P95Known = true, len(xs) >= FewForP80, len(xs) >= FewForP95
	q.P50, q.P80, q.P85, q.P95, q.Max = at(0.5), at(0.8), at(0.85), at(0.95), secs(xs[len(xs)-1])
	q.SD = secs(stat.StandardDeviation(xs))
	if in, ok := stat.MedianInterval(xs, Confidence); ok && len(xs) >= FewForMedianInterval {
		q.P50In, q.InKnown = [2]time.Duration{secs(in.Low), secs(in.High)}, true
	}
	return q
}

func secs(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// History is the lead times of a choice of batches.
type History struct {
	Lead    Quantiles // release to end
	Floor   Quantiles // first set-up to end
	Parts   Spent     // where the time of the ended batches went, together
	Ended   int
	Open    int
	Left    int // cancelled or joined to another: not in the lead times
	Started int
	Good    int
	Scrap   int
}

// Rejected is the part of the pieces started that became scrap; 0 of none.
func (h *History) Rejected() float64 {
	if h.Started == 0 {
		return 0
	}
	return float64(h.Scrap) / float64(h.Started)
}

// InHistory reports whether a batch that was read from the beginning of a period is in its
// figures: it ended before the period's end, or is on the floor and the period goes on up
// to now.
func InHistory(b *story.BatchFact, to, now time.Time) bool {
	if b.Ended.IsZero() {
		return GoesOn(to, now)
	}
	return b.Ended.Before(to)
}

// GoesOn reports whether a period goes on up to now, so that what is on the floor belongs
// to it. The figures of a month that is over stay as they are.
func GoesOn(to, now time.Time) bool { return to.Add(time.Minute).After(now) }

// Histories adds up batches one by one. The zero value is ready.
type Histories struct {
	h           History
	lead, floor []float64
}

// Add counts a batch, and reports whether it has a lead time of its own: one
// that was cancelled, or joined to another, has none.
func (s *Histories) Add(b *story.BatchFact) bool {
	switch {
	case b.Ended.IsZero():
		s.h.Open++
		return false
	case b.State == story.StateCancelled || b.Joined != "":
		s.h.Left++
		return false
	}
	s.h.Ended++
	s.h.Started += b.Started
	s.h.Good += b.Good
	s.h.Scrap += b.Scrap
	s.lead = append(s.lead, b.Ended.Sub(b.Released).Seconds())
	if !b.Begun.IsZero() {
		s.floor = append(s.floor, b.Ended.Sub(b.Begun).Seconds())
	}
	s.h.Parts.Add(&b.Parts)
	return true
}

// Result is the history of what was added.
func (s *Histories) Result() History {
	s.h.Lead, s.h.Floor = QuantilesOf(s.lead), QuantilesOf(s.floor)
	return s.h
}
