package compare

import (
	"math"
	"slices"

	"golang.org/x/text/currency"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/study"
)

// compareAsk asks for routes of a part side by side.
type compareAsk struct {
	Part       string      `json:"part"`
	Size       int         `json:"size"`           // pieces started in a batch
	Good       int         `json:"good,omitempty"` // good pieces wanted of a batch, for what to start
	Confidence float64     `json:"confidence,omitempty"`
	Demand     float64     `json:"demand,omitempty"` // good pieces a year; 0 = as in the last year
	From       string      `json:"from,omitempty"`   // dates of the batches that are measured
	To         string      `json:"to,omitempty"`
	Costs      study.Costs `json:"costs,omitzero"`
	Routes     []routeAsk  `json:"routes"`
}

// routeAsk is one route: a revision, measured where it rests on enough
// batches, planned, or changed by hand and by combining operations.
type routeAsk struct {
	RouteRev string `json:"route_rev"`
	Name     string `json:"name,omitempty"`
	Use      string `json:"use,omitempty" api:"enum=mixed|measured|planned|"` // mixed if it is left out
	// Planned are operations whose plan is taken although they were measured.
	Planned   []traveler.Op `json:"planned,omitempty"`
	Overrides []override    `json:"overrides,omitempty"`
	Combine   *combineAsk   `json:"combine" api:"optional"`
	OneOff    float64       `json:"one_off,omitempty"`
}

// override is a value that someone assumes.
type override struct {
	Operation traveler.Op `json:"operation"`
	What      string      `json:"what" api:"enum=setup|piece|yield|wait|rate"` // rate: of an hour
	Low       float64     `json:"low,omitempty"`
	Likely    float64     `json:"likely"`
	High      float64     `json:"high,omitempty"`
}

// combineAsk combines operations into one on a machine.
type combineAsk struct {
	Operations []traveler.Op       `json:"operations"`
	Second     []traveler.Op       `json:"second,omitempty"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Rate       float64             `json:"rate_per_hour,omitempty"`
	SetUp      *threeValues        `json:"setup,omitempty"`
	Piece      *threeValues        `json:"piece,omitempty"` // instead of the predicted ones
	Yield      *threeValues        `json:"yield,omitempty"`
	Faster     *threeValues        `json:"faster,omitempty"`
	OneOff     float64             `json:"one_off,omitempty"`
}

// threeValues is a value that someone assumes, and what it may be.
type threeValues struct {
	Low    float64 `json:"low"`
	Likely float64 `json:"likely"`
	High   float64 `json:"high"`
}

func (t *threeValues) value() study.Value {
	if t == nil {
		return study.Value{}
	}
	return study.Value{Low: t.Low, Likely: t.Likely, High: t.High, Source: study.Assumed}
}

const (
	mostCompared = 4
	mostName     = 60
	mostSize     = 100_000
	resamples    = 2000
	curveTo      = 5000
)

// wanted checks what is asked for and fills in what was left out.
func (in *compareAsk) wanted() error {
	switch {
	case in.Part == "":
		return traveler.Invalid("part", "form.missing")
	case len(in.Routes) == 0 || len(in.Routes) > mostCompared:
		return traveler.Invalid("routes", "compare.routes")
	case in.Size < 1 || in.Size > mostSize:
		return traveler.Invalid("size", "release.pieces", "100000")
	case in.Good < 0 || in.Good > mostSize || in.Demand < 0 || in.Demand > 1e9:
		return traveler.Invalid("demand", "form.number")
	}
	if in.Confidence == 0 {
		in.Confidence = measure.Confidence
	}
	if in.Confidence <= 0 || in.Confidence >= 1 {
		return traveler.Invalid("confidence", "form.number")
	}
	return costsFit(&in.Costs)
}

func costsFit(c *study.Costs) error {
	if _, err := currency.ParseISO(c.Currency); err != nil {
		return traveler.Invalid("currency", "compare.currency", c.Currency)
	}
	for _, x := range []float64{c.Labour, c.Manned, c.Trip, c.Metre, c.Material, c.Outside} {
		if math.IsNaN(x) || x < 0 || x > 1e9 {
			return traveler.Invalid("costs", "form.number")
		}
	}
	if c.Manned > 1 {
		return traveler.Invalid("manned", "form.number")
	}
	return nil
}

// fits reports what is wrong with the values that are given for a combination.
func (c *combineAsk) fits() error {
	for _, x := range []struct {
		what string
		v    *threeValues
		most float64
	}{
		{"setup", c.SetUp, study.MostMinutes},
		{"piece", c.Piece, study.MostMinutes},
		{"yield", c.Yield, 1},
		{"faster", c.Faster, 100},
	} {
		if x.v == nil {
			continue
		}
		if v := x.v; !(v.Low >= 0 && v.Low <= v.Likely && v.Likely <= v.High && v.High <= x.most) ||
			x.what == "yield" && v.Low < leastYield {
			return traveler.Invalid("combine", "compare.three", x.what)
		}
	}
	if !(c.OneOff >= 0 && c.OneOff <= mostMoney && c.Rate >= 0 && c.Rate <= mostMoney) {
		return traveler.Invalid("combine", "form.number")
	}
	for _, op := range c.Second {
		if !slices.Contains(c.Operations, op) {
			return traveler.Invalid("second", "compare.second", op.String())
		}
	}
	return nil
}

// leastYield is the lowest yield that can be assumed: a route that loses more
// makes nothing that could be compared.
const leastYield = 0.001

// overridden puts what someone assumes in place of what is known.
func overridden(r *study.Route, list []override) error {
	for _, o := range list {
		k := slices.IndexFunc(r.Steps, func(s study.Step) bool { return s.Operation == o.Operation })
		if k < 0 {
			return traveler.Invalid("operation", "op.unknown", o.Operation.String(), r.Name)
		}
		v := study.Value{Low: o.Low, Likely: o.Likely, High: o.High, Source: study.Assumed}
		if v.Low == 0 && v.High == 0 {
			v.Low, v.High = v.Likely, v.Likely
		}
		if v.Low < 0 || v.Low > v.Likely || v.Likely > v.High || v.High > study.MostMinutes ||
			o.What == "yield" &&
				(v.High > 1 || v.Low < leastYield) {
			return traveler.Invalid("overrides", "compare.order", o.Operation.String(), o.What)
		}
		s := &r.Steps[k]
		switch o.What {
		case "setup":
			s.SetUp = v
		case "piece":
			s.Piece = v
		case "yield":
			s.Yield = v
		case "wait":
			s.Wait = v
			r.Lead = study.Value{}
		case "rate":
			s.Rate = v.Likely
		default:
			return traveler.Invalid("what", "select.choice", o.What, "setup, piece, yield, wait, rate")
		}
	}
	return nil
}

const (
	mostMembers = 30
	mostMoney   = 1e12
)
