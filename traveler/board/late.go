package board

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
)

// before notes how much the operation before has let go, where it goes on.
func (r *Row) before(ts []story.Tally) {
	for k := 1; k < len(ts); k++ {
		if t := &ts[k-1]; ts[k].Operation == r.Operation && !t.Closed && t.Seen && t.Could > t.Good {
			r.Before, r.LetGo, r.LetOf = t.Operation, t.Good, t.Could
		}
	}
}

// UsualWait is how long batches waited before a work centre over PaceDays, in seconds of
// its working time: the median, and what 19 of 20 stayed below.
type UsualWait struct {
	N   int     `json:"n"`
	P50 float64 `json:"p50_s"`
	P95 float64 `json:"p95_s"`
}

// usualWaits is the minimum of waits that show what is a long one: of fewer, one of twenty
// is none.
const usualWaits = 20

// LongSince is from when on a row waits longer than 19 of 20 did before its work centre;
// zero where too few are known, where the rest of the batch is still to come, or that is not within the days
// that tight looks ahead. What is past is said by its day only: rows are sent to many.
func (r *Row) LongSince(shop *traveler.Shop, usual UsualWait, now time.Time) time.Time {
	if !r.inLine() || r.LetOf > 0 || usual.N < usualWaits {
		return time.Time{}
	}
	from, ok := shop.CentreHours(r.WorkCentre, now).After(r.Since,
		time.Duration(usual.P95*float64(time.Second)))
	switch {
	case !ok || from.After(now.AddDate(0, 0, tightDays)):
		return time.Time{}
	case from.Before(now):
		return from.UTC().Truncate(24 * time.Hour)
	}
	return from.UTC().Truncate(time.Minute)
}

// tightDays is how far ahead it is said from when on a batch will be late: rows are made
// again each day.
const tightDays = 4

// tight notes from when on a batch will be late: from then on the planned work that is
// left no longer fits before its due date is over, in the working time of the work
// centre that it waits for. Waits are not counted, so that it says too little rather
// than too much. Where there is a forecast, that says it instead: see Foresee.
func (r *Row) tight(shop *traveler.Shop, b *story.Batch, ts []story.Tally, now time.Time) {
	if r.Late || b.Due.IsZero() {
		return
	}
	work, outside := left(b, ts, r.Operation)
	end := calendar.EndOfDay(b.Due, now.Location()).Add(-outside)
	if end.After(now.AddDate(0, 1, 0)) && end.Add(-2*work).After(now.AddDate(0, 1, 0)) {
		return
	}
	from := end.Add(-work)
	if h := shop.CentreHours(r.WorkCentre, now); h != nil {
		from = lastStart(h, end, work)
	}
	if from.Before(now.AddDate(0, 0, tightDays)) {
		r.LateFrom = from.UTC().Truncate(time.Minute)
	}
}

// Foresee notes whether a forecast expects a batch to be late. From when on that is so is
// said by its day only: forecasts are made each minute, and rows are sent to many.
func (r *Row) Foresee(late bool, now time.Time) {
	if r.LateFrom = (time.Time{}); late && !r.Late {
		r.LateFrom = now.UTC().Truncate(24 * time.Hour)
	}
}

// mostLeft is more work than any look ahead distinguishes, and fits a time.Duration twice.
const mostLeft = 100 * 365 * 24 * time.Hour

// left is the planned work of a batch from an operation on, at most mostLeft, and the
// time outside.
func left(b *story.Batch, ts []story.Tally, op traveler.Op) (work, outside time.Duration) {
	minutes := 0.0
	for k := range ts {
		t, o := &ts[k], &b.Ops[k]
		if t.Operation < op || t.Closed {
			continue
		}
		if o.Outside() {
			outside += time.Duration(o.OutsideDays * 24 * float64(time.Hour))
			continue
		}
		if !t.Seen {
			minutes += o.SetupMin
		}
		minutes += o.MinPerPiece() * float64(t.Left())
	}
	return time.Duration(min(minutes, mostLeft.Minutes()) * float64(time.Minute)), outside
}

// lastStart is the last moment, to the minute, from which on so much open time is left
// before an end. It looks back 60 days.
func lastStart(h *calendar.Hours, end time.Time, work time.Duration) time.Time {
	low, high := end.AddDate(0, 0, -60), end
	for high.Sub(low) > time.Minute {
		mid := low.Add(high.Sub(low) / 2)
		if h.Open(mid, end) >= work {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
