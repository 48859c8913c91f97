package study

import (
	"math"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// Rates gives what an hour of a work centre costs; 0 = not known.
type Rates func(traveler.WorkCentre) float64

// FromPlan is a route as it is planned. Waits are this shop's, by work centre.
func FromPlan(route *traveler.Route, rates Rates,
	inside, outside map[traveler.WorkCentre]measure.WaitStats) Route {
	out := Route{Name: route.Rev}
	for i := range route.Operations {
		o := &route.Operations[i]
		y := o.Yield
		if y == 0 {
			y = 1
		}
		s := Step{
			Operation: o.Number, WorkCentre: o.WorkCentre, Outside: o.Outside(), Clampings: o.Clampings,
			SetUp: Sure(o.SetupMin, Planned),
			Piece: Sure(o.MinPerPiece(), Planned), Load: o.LoadMin / float64(max(1, o.PiecesPerCycle)),
			Yield: Sure(y, Planned), Rate: rates(o.WorkCentre),
			OutsideMin: Sure(o.OutsideDays*1440, Planned),
		}
		s.waits(inside, outside)
		out.Steps = append(out.Steps, s)
	}
	return out
}

// waits fills in how long batches have waited before this work centre.
func (s *Step) waits(inside, outside map[traveler.WorkCentre]measure.WaitStats) {
	if w := inside[s.WorkCentre]; w.N > 0 {
		s.Wait = Value{w.P50.Minutes(), w.P50.Minutes(), w.P85.Minutes(), Measured, w.N}
	}
	if w := outside[s.WorkCentre]; s.Outside && w.N > 0 {
		s.OutsideMin = Value{w.P50.Minutes(), w.P50.Minutes(), w.P85.Minutes(), Measured, w.N}
	}
}

// Few is the number of batches below which a measured figure is not used: the
// page asks for an assumption instead.
const Few = 5

// FewForInterval is the number of batches below which no interval of a yield, a
// loss or a comparison is given: below it, it would hold the truth less often than
// it says.
const FewForInterval = 8

// Measure takes what was measured of a route in place of what was planned:
// operation by operation, where it rests on enough batches.
func (r *Route) Measure(batches []story.BatchFact) *Samples {
	s := newSamples(r, batches)
	r.Batches = s.done
	for k := range r.Steps {
		r.Steps[k].measure(s, k)
	}
	r.measureWaits(batches)
	r.measureWalks(batches)
	r.measureLead(batches)
	return s
}

func (st *Step) measure(s *Samples, k int) {
	if set, known := s.interval(func(x []float64) (float64, float64) {
		return x[at(k, setUp)], x[at(k, setUpBatch)]
	}); known {
		st.SetUp = set
		times, _ := s.interval(func(x []float64) (float64, float64) {
			return x[at(k, setUps)], x[at(k, setUpBatch)]
		})
		st.SetUps = times.Likely
	}
	if piece, known := s.interval(func(x []float64) (float64, float64) {
		return x[at(k, run)], x[at(k, made)]
	}); known {
		st.Piece = piece
	}
	if st.Outside {
		st.SetUp, st.Piece = Sure(0, Planned), Sure(0, Planned)
	}
	var shares []stat.Share
	for _, x := range s.rows {
		if came := x[at(k, came)]; came > 0 {
			shares = append(shares, stat.Share{Count: int(x[at(k, good)]), Of: int(came)})
		}
	}
	if y, ok := stat.BatchYield(shares, measure.Confidence); ok && y.Batches >= Few && !math.IsNaN(y.In.Low) {
		st.Yield = Value{y.In.Low, y.Yield, y.In.High, Measured, y.Batches}
	}
}

// measureWalks takes how often and how far this route's own batches were
// carried: to each operation, and all in all, rework and the way out included.
func (r *Route) measureWalks(batches []story.BatchFact) {
	var all Walks
	to := map[traveler.Op]float64{}
	for i := range batches {
		b := &batches[i]
		if !b.Finished() {
			continue
		}
		all.N++
		for k := range b.Trip {
			t := &b.Trip[k]
			all.Add(t.Leg, t.Metres)
			to[t.For] += t.Metres
		}
	}
	if all.N < Few {
		return
	}
	n := float64(all.N)
	r.Walks = Walks{all.Trips / n, all.Metres / n, all.Stores / n, all.Dock / n, all.Outside / n, all.N}
	for k := range r.Steps {
		r.Steps[k].Metres = to[r.Steps[k].Operation] / n
	}
}

// measureWaits takes the stops and the waits of this route's own batches.
func (r *Route) measureWaits(batches []story.BatchFact) {
	for k := range r.Steps {
		s := &r.Steps[k]
		var waits, away, stops []float64
		stood := 0.0
		for i := range batches {
			b := &batches[i]
			if b.State != story.StateDone {
				continue
			}
			stop, first := 0.0, true // of money and machine time, nights are no part
			for j := range b.Visits {
				v := &b.Visits[j]
				if v.Operation != s.Operation || v.ReworkFor != 0 {
					continue
				}
				stood += v.Parts.Stop.Minutes()
				for n := range v.Stops {
					stop += v.Stops[n].Open.Minutes()
				}
				if first && !v.Begun.IsZero() {
					waits = append(waits, (v.Parts.Transport + v.Parts.Queue + v.Parts.Between).Minutes())
					first = false
				}
				if s.Outside && !v.Ended.IsZero() {
					away = append(away, v.Parts.Outside.Minutes())
				}
			}
			if !first {
				stops = append(stops, stop)
			}
		}
		if len(waits) >= Few {
			s.Wait = half(waits)
			s.Stop = Value{mean(stops), mean(stops), mean(stops), Measured, len(stops)}
			s.Stood = stood / float64(len(stops))
		}
		if len(away) >= Few {
			s.OutsideMin = half(away)
		}
	}
}

func (r *Route) measureLead(batches []story.BatchFact) {
	var lead []float64
	var parts measure.Spent
	for i := range batches {
		if b := &batches[i]; b.Finished() {
			lead = append(lead, b.Ended.Sub(b.Released).Minutes())
			parts.Add(&b.Parts)
		}
	}
	if len(lead) >= Few {
		r.Lead, r.Parts = half(lead), parts.Each(len(lead))
	}
}

// half is the median, with P85 as the high.
func half(xs []float64) Value {
	slices.Sort(xs)
	return Value{stat.Median(xs), stat.Median(xs), stat.Percentile(xs, 0.85), Measured, len(xs)}
}

func mean(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(max(1, len(xs)))
}

// The columns of a sample, for each step.
const (
	setUp      = iota // minutes of set-up
	setUpBatch        // 1 where they are known
	setUps            // how many there were
	run               // minutes of run
	made              // pieces made in it
	good              // pieces that went on, reworked ones too
	came              // pieces that came in
	columns
)

func at(step, column int) int { return step*columns + column }

// Samples are the batches of a route: a row for each, with the columns of each
// step.
type Samples struct {
	route *Route
	rows  [][]float64
	done  int // of them, batches that are done and joined no other
}

// newSamples takes set-ups and runs from every batch that is through with an
// operation, as all pages do; pieces only from those that are done.
func newSamples(r *Route, batches []story.BatchFact) *Samples {
	s := &Samples{route: r}
	for i := range batches {
		b := &batches[i]
		done := b.Finished()
		row, any := make([]float64, columns*len(r.Steps)), done
		for k := range r.Steps {
			for j := range b.Ops {
				if o := &b.Ops[j]; o.Operation == r.Steps[k].Operation {
					any = fillRow(row[at(k, 0):at(k+1, 0)], o, done) || any
				}
			}
		}
		if any {
			s.rows = append(s.rows, row)
		}
		if done {
			s.done++
		}
	}
	return s
}

// fillRow reports whether a set-up or a run is known.
func fillRow(x []float64, o *story.OpFact, done bool) bool {
	if d, n := o.TookSetUp(); n > 0 {
		x[setUp], x[setUpBatch], x[setUps] = d.Minutes(), 1, float64(n)
	}
	if d, n := o.TookRun(); n > 0 {
		x[run], x[made] = d.Minutes(), float64(n)
	}
	if done {
		// What came in at the next is what went on here, so that along the route
		// this comes to the good of those started.
		x[good], x[came] = float64(min(o.Good, o.In)), float64(o.In)
	}
	return x[setUpBatch] > 0 || x[made] > 0
}

// interval is a ratio of sums over the batches ([stat.RatioOf]): batches are the
// unit.
func (s *Samples) interval(of func([]float64) (num, den float64)) (Value, bool) {
	var num, den []float64
	for _, x := range s.rows {
		if a, b := of(x); b > 0 {
			num, den = append(num, a), append(den, b)
		}
	}
	r, ok := stat.RatioOf(num, den, measure.Confidence)
	if r.N < Few {
		return Value{}, false
	}
	if !ok {
		return Value{r.Value, r.Value, r.Value, Measured, r.N}, true
	}
	return Value{r.In.Low, r.Value, r.In.High, Measured, r.N}, true
}
