package study

import (
	"math"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
)

// Result is what a route comes to for a batch of a size. Minutes and money are
// those of the whole batch unless they say each.
type Result struct {
	Started, Good float64 // pieces; expected
	Yield         float64 // rolled: good of started
	PerClamping   float64 // its n-th root over the clampings
	SetUps        int
	Clampings     int
	Walks         Walks

	SetUpMin, RunMin, StopMin float64 // a stop counts while the machine is open
	StoodMin                  float64 // stops in clock time, as they lengthen the lead time
	MachineMin                float64 // set-up and run, all machines
	EachMin                   float64 // machine minutes of a good piece

	Machine, Labour, Handling, Material, Outside float64
	Cost                                         float64 // all of them
	EachCost                                     float64 // of a good piece
	Scrap                                        float64 // of Cost: what lies in pieces that did not come out good
	Unrated                                      []traveler.WorkCentre

	LeadMin, LeadHigh float64 // median and P85
	LeadMeasured      bool

	Centre map[traveler.WorkCentre]float64 // minutes on each work centre
}

// pick takes one of the three values.
type pick func(Value) float64

func likely(v Value) float64 { return v.Likely }

// Of works out what a route comes to for a batch of so many pieces started.
func (r *Route) Of(started float64, c *Costs) Result {
	out := Result{Centre: map[traveler.WorkCentre]float64{}}
	r.into(&out, started, c, likely)
	return out
}

// into works the result out; where Centre and Unrated are not wanted, Centre is
// nil.
func (r *Route) into(out *Result, started float64, c *Costs, at pick) {
	out.Started, out.Yield = started, 1
	pieces := started
	out.Material = started * c.Material
	spent := out.Material // what lies in the pieces that are still good
	for i := range r.Steps {
		s := &r.Steps[i]
		out.Clampings += s.Clampings
		cost := 0.0
		if s.Outside {
			cost = pieces * c.Outside
			out.Outside += cost
		} else {
			cost = out.inside(s, pieces, c, at)
		}
		y := math.Min(1, math.Max(0, at(s.Yield)))
		spent += cost
		out.Scrap += spent * (1 - y)
		spent *= y
		pieces *= y
		out.Yield *= y
	}
	out.Good = pieces
	out.Walks = r.Walks
	out.Handling = r.Walks.Trips*c.Trip + r.Walks.Metres*c.Metre
	out.MachineMin = out.SetUpMin + out.RunMin
	out.Cost = out.Machine + out.Labour + out.Handling + out.Material + out.Outside
	out.EachMin, out.EachCost = out.MachineMin/pieces, out.Cost/pieces
	out.PerClamping = stat.NormalisedYield(out.Yield, max(1, out.Clampings))
	r.lead(out)
}

// inside adds an operation done in the shop and gives what it costs.
func (out *Result) inside(s *Step, pieces float64, c *Costs, at pick) float64 {
	setup, run := at(s.SetUp), pieces*at(s.Piece)
	out.SetUpMin += setup
	out.RunMin += run
	out.StopMin += at(s.Stop)
	out.StoodMin += s.Stood
	if setup > 0 {
		out.SetUps++
	}
	if out.Centre != nil {
		out.Centre[s.WorkCentre] += setup + run
		if s.Rate <= 0 && !slices.Contains(out.Unrated, s.WorkCentre) {
			out.Unrated = append(out.Unrated, s.WorkCentre)
		}
	}
	machine := (setup + run) / 60 * s.Rate
	labour := (setup + run*c.Manned) / 60 * c.Labour
	out.Machine += machine
	out.Labour += labour
	return machine + labour
}

// lead is the lead time: as measured, else the work and the waits added up.
func (r *Route) lead(out *Result) {
	if r.Lead.N > 0 {
		out.LeadMin, out.LeadHigh, out.LeadMeasured = r.Lead.Likely, r.Lead.High, true
		return
	}
	work := out.MachineMin + out.StoodMin
	out.LeadMin, out.LeadHigh = work, work
	for i := range r.Steps {
		s := &r.Steps[i]
		out.LeadMin += s.Wait.Likely + s.OutsideMin.Likely
		out.LeadHigh += s.Wait.High + s.OutsideMin.High
	}
}

// Spent is where the lead time goes, in seconds of a batch: as measured, else as
// the work and the usual waits add up.
func (r *Route) Spent(x *Result) measure.Spent {
	if x.LeadMeasured {
		return r.Parts
	}
	s := measure.Spent{Run: x.RunMin * 60, Setup: x.SetUpMin * 60, Stop: x.StoodMin * 60}
	for i := range r.Steps {
		s.Between += r.Steps[i].Wait.Likely * 60
		s.Outside += r.Steps[i].OutsideMin.Likely * 60
	}
	return s
}
