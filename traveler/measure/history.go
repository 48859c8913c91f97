package measure

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
)

// Quantiles of a lead time. Each is given only from so many batches on that it
// means something: a median from six on has an interval, P95 needs twenty.
type Quantiles struct {
	N        int
	P50      time.Duration
	P80      time.Duration
	P85      time.Duration
	P95      time.Duration
	P50In    [2]time.Duration // 95 % interval of the median, from order statistics
	P50Known bool             // N >= 1
	InKnown  bool             // N >= 6
	P80Known bool             // N >= 6
	P95Known bool             // N >= 20
}

// The numbers of batches from which a quantile is given.
const (
	FewForMedianInterval = 6
	FewForP80            = 6
	FewForP95            = 20
)

// QuantilesOf gives the quantiles of times (type 7).
func QuantilesOf(times []time.Duration) Quantiles {
	xs := make([]float64, len(times))
	for i, t := range times {
		xs[i] = t.Seconds()
	}
	slices.Sort(xs)
	at := func(p float64) time.Duration { return secs(stat.Percentile(xs, p)) }
	q := Quantiles{N: len(xs)}
	if len(xs) == 0 {
		return q
	}
	q.P50Known, q.P80Known, q.P95Known = true, len(xs) >= FewForP80, len(xs) >= FewForP95
	q.P50, q.P80, q.P85, q.P95 = at(0.5), at(0.8), at(0.85), at(0.95)
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
}

// HistoryOf adds up batches. Those that were cancelled, or joined to another,
// have no lead time of their own.
func HistoryOf(batches []traveler.BatchFact) History {
	var h History
	var lead, floor []time.Duration
	for i := range batches {
		b := &batches[i]
		switch {
		case b.Ended.IsZero():
			h.Open++
			continue
		case b.State == traveler.StateCancelled || b.Joined != "":
			h.Left++
			continue
		}
		h.Ended++
		h.Started += b.Started
		h.Good += b.Good
		lead = append(lead, b.Ended.Sub(b.Released))
		if !b.Begun.IsZero() {
			floor = append(floor, b.Ended.Sub(b.Begun))
		}
		h.Parts.Add(&b.Parts)
	}
	h.Lead, h.Floor = QuantilesOf(lead), QuantilesOf(floor)
	return h
}
