package figures

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// fitView is a planned time against what was.
type fitView struct {
	Part       string              `json:"part"`
	PartName   string              `json:"part_name,omitempty"`
	RouteRev   string              `json:"route_rev"`
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	What       string              `json:"what" api:"enum=setup|piece"`
	Plan       float64             `json:"plan_s"`
	Actual     *float64            `json:"actual_s"`
	Low        *float64            `json:"low_s"`
	High       *float64            `json:"high_s"`
	Ratio      *float64            `json:"ratio"`
	Batch      *float64            `json:"batch_s"` // what a batch takes longer than planned; below 0: shorter
	N          int                 `json:"n"`
	LeftOut    int                 `json:"left_out"`
	P          *float64            `json:"p"`
	Off        bool                `json:"off"`
}

// fitsView is planned times against what was.
type fitsView struct {
	Selection selection `json:"selection"`
	Fits      []fitView `json:"fits"`
	// Of operations with fewer batches than few, by work centre.
	Pools      []fitPoolView `json:"pools"`
	Tested     int           `json:"tested"`
	Few        int           `json:"few"`                // batches below which nothing is tested
	Difference float64       `json:"difference"`         // that is looked for, as a part of the plan
	BatchDiff  float64       `json:"batch_difference_s"` // that matters, of a batch
	Discovery  float64       `json:"discovery"`          // part of what is marked that may be by chance
}

// fitPoolView is planned times of one kind of work together: of operations that have too
// few batches each.
type fitPoolView struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	What       string              `json:"what" api:"enum=setup|piece"`
	Operations int                 `json:"operations"`
	Parts      int                 `json:"parts"`
	N          int                 `json:"n"`     // set-ups, or runs
	Ratio      float64             `json:"ratio"` // actual to plan
	Low        *float64            `json:"low"`
	High       *float64            `json:"high"`
}

func fitPools(fits *measure.Fits) []fitPoolView {
	out := []fitPoolView{}
	for _, p := range fits.Pools() {
		v := fitPoolView{WorkCentre: p.WorkCentre, What: p.What, Operations: p.Operations, Parts: p.Parts,
			N: p.N, Ratio: p.Ratio}
		if p.Known {
			v.Low, v.High = &p.Low, &p.High
		}
		out = append(out, v)
	}
	return out
}

// fitsOnly is what planned times are held against.
var fitsOnly = reading{lent: true, without: story.FactTrip | story.FactVisits}

// getFits answers which planned times no longer fit.
func (s *room) getFits(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	var fits measure.Fits
	if err := s.eachFact(c, &sel, fitsOnly, fits.Add); err != nil {
		return err
	}
	out, tested := []fitView{}, 0
	for _, f := range fits.Result() {
		v := fitView{
			Part: f.Part, PartName: f.Name, RouteRev: f.Rev, Operation: f.Operation, WorkCentre: f.WorkCentre,
			What: f.What, Plan: f.Plan.Seconds(), N: f.N, LeftOut: f.LeftOut, Off: f.Off,
		}
		if f.N > 0 {
			v.Actual, v.Ratio, v.Batch = ask.Seconds(f.Actual), &f.Ratio, ask.Seconds(f.Batch)
		}
		if f.Tested {
			tested++
			v.Low, v.High, v.P = ask.Seconds(f.Low), ask.Seconds(f.High), &f.P
		}
		out = append(out, v)
	}
	return c.JSON(fitsView{sel, out, fitPools(&fits), tested, measure.FewToTest, measure.Difference,
		measure.BatchDifference.Seconds(), measure.Discovery})
}
