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
	N          int                 `json:"n"`
	LeftOut    int                 `json:"left_out"`
	P          *float64            `json:"p"`
	Off        bool                `json:"off"`
}

// fitsView is planned times against what was.
type fitsView struct {
	Selection  selection `json:"selection"`
	Fits       []fitView `json:"fits"`
	Tested     int       `json:"tested"`
	Few        int       `json:"few"`        // batches below which nothing is tested
	Difference float64   `json:"difference"` // that is looked for, as a part of the plan
	Discovery  float64   `json:"discovery"`  // part of what is marked that may be by chance
}

// getFits answers which planned times no longer fit.
func (s *room) getFits(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	var fits measure.Fits
	if err := s.eachFact(c, &sel, reading{lent: true, without: story.FactTrip | story.FactVisits}, fits.Add); err != nil {
		return err
	}
	out, tested := []fitView{}, 0
	for _, f := range fits.Result() {
		v := fitView{
			Part: f.Part, PartName: f.Name, RouteRev: f.Rev, Operation: f.Operation, WorkCentre: f.WorkCentre, What: f.What,
			Plan: f.Plan.Seconds(), N: f.N, LeftOut: f.LeftOut, Off: f.Off,
		}
		if f.N > 0 {
			v.Actual, v.Ratio = ask.Seconds(f.Actual), &f.Ratio
		}
		if f.Tested {
			tested++
			v.Low, v.High, v.P = ask.Seconds(f.Low), ask.Seconds(f.High), &f.P
		}
		out = append(out, v)
	}
	return c.JSON(fitsView{sel, out, tested, measure.FewToTest, measure.Difference, measure.Discovery})
}
