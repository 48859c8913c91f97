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
func FromPlan(route *traveler.Route, rates Rates, inside, outside map[traveler.WorkCentre]measure.WaitStats) Route {
	out := Route{Name: route.Rev}
	for i := range route.Operations {
		o := &route.Operations[i]
		y := o.Yield
		if y == 0 {
			y = 1
		}
		s := Step{
			Operation: o.Number, WorkCentre: o.WorkCentre, Outside: o.Outside(), Clampings: o.Clampings, SetUp: Sure(o.SetupMin, Planned),
			Piece: Sure(o.MinPerPiece(), Planned), Load: o.LoadMin / float64(max(1, o.PiecesPerCycle)), Yield: Sure(y, Planned), Rate: rates(o.WorkCentre),
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

// Measure takes what was measured of a route in place of what was planned:
// operation by operation, where enough batches stand behind it.
func (r *Route) Measure(batches []story.BatchFact) *Samples {
	s := newSamples(r, batches)
	r.Batches = len(s.rows)
	for k := range r.Steps {
		r.Steps[k].measure(s, k)
	}
	r.measureWaits(batches)
	r.measureLead(batches)
	return s
}

func (st *Step) measure(s *Samples, k int) {
	set, known := s.interval(func(x []float64) (float64, float64) { return x[at(k, setUp)], x[at(k, setUps)] })
	if known {
		st.SetUp = set
	}
	if piece, known := s.interval(func(x []float64) (float64, float64) { return x[at(k, run)], x[at(k, made)] }); known {
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

// measureWaits takes the stops, the walks and the waits of this route's own
// batches.
func (r *Route) measureWaits(batches []story.BatchFact) {
	for k := range r.Steps {
		s := &r.Steps[k]
		var waits, away, metres, stops []float64
		for i := range batches {
			b := &batches[i]
			if b.State != story.StateDone {
				continue
			}
			stop, first := 0.0, true
			for j := range b.Visits {
				v := &b.Visits[j]
				if v.Operation != s.Operation || v.ReworkFor != 0 {
					continue
				}
				stop += v.Parts.Stop.Minutes()
				if first && !v.Begun.IsZero() {
					waits = append(waits, (v.Parts.Transport + v.Parts.Queue + v.Parts.Between).Minutes())
					metres = append(metres, v.Metres)
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
			s.Wait, s.Metres = half(waits), mean(metres)
			s.Stop = Value{mean(stops), mean(stops), mean(stops), Measured, len(stops)}
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
		if b := &batches[i]; b.State == story.StateDone && b.Joined == "" {
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
	setUp  = iota // minutes of set-up
	setUps        // 1 where they are known
	run           // minutes of run
	made          // pieces made in it
	good          // pieces that went on, reworked ones too
	came          // pieces that came in and got an outcome
	columns
)

func at(step, column int) int { return step*columns + column }

// Samples are the batches of a route: a row for each, with the columns of each
// step.
type Samples struct {
	route *Route
	rows  [][]float64
}

func newSamples(r *Route, batches []story.BatchFact) *Samples {
	s := &Samples{route: r}
	for i := range batches {
		b := &batches[i]
		if b.State != story.StateDone || b.Joined != "" {
			continue
		}
		row := make([]float64, columns*len(r.Steps))
		for k := range r.Steps {
			for j := range b.Ops {
				if o := &b.Ops[j]; o.Operation == r.Steps[k].Operation {
					fillRow(row[at(k, 0):at(k+1, 0)], o)
				}
			}
		}
		s.rows = append(s.rows, row)
	}
	return s
}

func fillRow(x []float64, o *story.OpFact) {
	if !o.Inferred && o.Setups > 0 {
		x[setUp], x[setUps] = o.Setup.Minutes(), 1
	}
	if !o.Inferred && o.Made > 0 && o.Run > 0 {
		x[run], x[made] = o.Run.Minutes(), float64(o.Made)
	}
	if o.Assumed == 0 {
		x[good], x[came] = float64(o.Good), float64(o.Good+o.Scrap+o.Missing)
	}
}

// interval is a ratio of sums over the batches, with its 95 % interval by t on
// the linearised ratio (Cochran, Sampling Techniques, 6.3): batches are the
// unit.
func (s *Samples) interval(of func([]float64) (num, den float64)) (Value, bool) {
	var num, den float64
	n := 0
	for _, x := range s.rows {
		if a, b := of(x); b > 0 {
			num, den = num+a, den+b
			n++
		}
	}
	if n < Few || den == 0 {
		return Value{}, false
	}
	ratio := num / den
	var e []float64
	for _, x := range s.rows {
		if a, b := of(x); b > 0 {
			e = append(e, (a-ratio*b)*float64(n)/den)
		}
	}
	in, ok := stat.MeanInterval(e, measure.Confidence)
	if !ok {
		return Value{ratio, ratio, ratio, Measured, n}, true
	}
	return Value{math.Max(0, ratio+in.Low), ratio, ratio + in.High, Measured, n}, true
}
