package compare

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
)

// makeUpView is what a batch that makes up for what another lacks would be.
type makeUpView struct {
	Short int `json:"short"` // pieces wanted of the batch that can't come any more
	// How many to start so that so many come out good with the confidence; absent where
	// nothing is short, or no number gives it.
	Pieces     *int     `json:"pieces"`
	Confidence float64  `json:"confidence"`
	Surplus    *float64 `json:"surplus"` // good pieces above those wanted, in the mean
	// Batches of the route that the yield rests on; 0 where it is the planned one.
	Batches  int    `json:"batches"`
	RouteRev string `json:"route_rev"`
}

// makeUpConfidence is how surely the good pieces of a make-up batch are enough.
const makeUpConfidence = 0.95

// makeUpYears is how far back the batches lie that its yield is taken from.
const makeUpYears = 5

// getMakeUp says how many pieces to start to make up for what a batch lacks.
func (s *room) getMakeUp(c *fiber.Ctx) error {
	f, i, err := s.FamilyOf(ask.PathParam(c, "code"))
	if err != nil {
		return err
	}
	b := &f.Batches[i]
	v := makeUpView{Short: f.Short(i), Confidence: makeUpConfidence, RouteRev: b.Rev}
	plan, ok := s.Desk.Shop().Route(b.Part, b.Rev)
	if v.Short == 0 || !ok {
		return c.JSON(v)
	}
	usual, err := s.usually()
	if err != nil {
		return err
	}
	now := s.Time()
	st := studied{s: s}
	if st.part, err = s.partFacts(b.Part, now.AddDate(-makeUpYears, 0, 0), now); err != nil {
		return err
	}
	list := st.batches(b.Rev)
	noRate := func(traveler.WorkCentre) float64 { return 0 }
	r := study.FromPlan(&plan, noRate, nil, nil)
	r.Measure(list)
	if x, ok := r.Start(v.Short, v.Confidence, list, usual.spreads); ok {
		v.Pieces, v.Surplus, v.Batches = &x.Pieces, &x.Surplus, x.Batches
	}
	return c.JSON(v)
}
