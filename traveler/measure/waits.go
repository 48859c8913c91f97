package measure

import (
	"sort"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// WaitStats are this shop's waits before the operations of a work centre, in
// clock time, from batches that are done.
type WaitStats struct {
	N   int
	P50 time.Duration
	P85 time.Duration

	sorted []float64 // seconds; nil where only the percentiles are known
}

// left are the percentiles of what is left of a wait that has gone on for some
// time: of the waits that were longer, less what is gone. One that has gone on
// for longer than all of them may end at any moment.
func (w WaitStats) left(gone time.Duration) WaitStats {
	if gone <= 0 {
		return w
	}
	if w.sorted == nil {
		return WaitStats{N: w.N, P50: positive(w.P50 - gone), P85: positive(w.P85 - gone)}
	}
	longer := w.sorted[sort.SearchFloat64s(w.sorted, gone.Seconds()):]
	if len(longer) == 0 {
		return WaitStats{N: w.N}
	}
	return WaitStats{N: w.N, P50: positive(secs(stat.Percentile(longer, 0.5)) - gone),
		P85: positive(secs(stat.Percentile(longer, 0.85)) - gone)}
}

// Waits adds up waits by work centre: transport and queue of first-pass visits;
// and how long outside operations were away. The zero value is ready.
type Waits struct {
	waits, away map[traveler.WorkCentre][]float64
}

// Add counts a batch.
func (s *Waits) Add(b *story.BatchFact) {
	if s.waits == nil {
		s.waits, s.away = map[traveler.WorkCentre][]float64{}, map[traveler.WorkCentre][]float64{}
	}
	for k := range b.Visits {
		v := &b.Visits[k]
		o := opOf(b, v.Operation)
		if o == nil || v.ReworkFor != 0 || v.Begun.IsZero() {
			continue
		}
		p := &v.Parts
		s.waits[o.WorkCentre] = append(s.waits[o.WorkCentre], (p.Transport + p.Queue + p.Between).Seconds())
		if o.Outside && !v.Ended.IsZero() {
			s.away[o.WorkCentre] = append(s.away[o.WorkCentre], p.Outside.Seconds())
		}
	}
}

func opOf(b *story.BatchFact, op traveler.Op) *story.OpFact {
	for i := range b.Ops {
		if b.Ops[i].Operation == op {
			return &b.Ops[i]
		}
	}
	return nil
}

// Result is the waits before the work centres, and how long what was sent there
// was away.
func (s *Waits) Result() (inside, outside map[traveler.WorkCentre]WaitStats) {
	return statsOf(s.waits), statsOf(s.away)
}

func statsOf(in map[traveler.WorkCentre][]float64) map[traveler.WorkCentre]WaitStats {
	out := map[traveler.WorkCentre]WaitStats{}
	for wc, list := range in {
		q := QuantilesOf(list)
		out[wc] = WaitStats{q.N, q.P50, q.P85, list} // QuantilesOf has sorted it
	}
	return out
}
