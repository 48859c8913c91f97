package compare

import (
	"bytes"
	"fmt"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler/study"
	"tallywalk/web/ask"
)

// postComparePDF answers a comparison as one A4 page.
func (s *room) postComparePDF(c *fiber.Ctx) error {
	v, err := s.asked(c)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := s.Print(&b, v, s.partName(v.Part), s.Time().In(s.Zone), v.Language); err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, ask.MediaPDF)
	return c.Send(b.Bytes())
}

func (s *room) partName(part string) string {
	for _, r := range s.Desk.Shop().Routes() {
		if r.Part == part && r.PartName != "" {
			return r.PartName
		}
	}
	return ""
}

// postCompareXLSX answers a comparison as a workbook: the figures, the words, the
// operations, the curve, and the work centres.
func (s *room) postCompareXLSX(c *fiber.Ctx) error {
	v, err := s.asked(c)
	if err != nil {
		return err
	}
	return ask.SendWorkbook(c, "comparison.xlsx", []ask.Sheet{
		{Name: "figures", Rows: figureRows(v)},
		{Name: "in words", Rows: saidRows(v)},
		{Name: "operations", Rows: operationRows(v)},
		{Name: "batch size", Rows: curveRows(v)},
		{Name: "differences", Rows: differenceRows(v)},
		{Name: "work centres", Rows: centreRows(v)},
	})
}

func figureRows(v *study.Comparison) [][]any {
	head := []any{"figure", "unit"}
	for i := range v.Routes {
		head = append(head, v.Routes[i].Name)
	}
	rows := [][]any{head}
	add := func(name, unit string, of func(*study.ComparedResult) any) {
		row := []any{name, unit}
		for i := range v.Routes {
			row = append(row, of(&v.Routes[i].Result))
		}
		rows = append(rows, row)
	}
	money := v.Costs.Currency
	add("pieces started", "", func(r *study.ComparedResult) any { return r.Started })
	add("pieces good", "", func(r *study.ComparedResult) any { return r.Good })
	add("yield", "", func(r *study.ComparedResult) any { return r.Yield })
	add("yield per clamping", "", func(r *study.ComparedResult) any { return r.PerClamping })
	add("set-ups", "", func(r *study.ComparedResult) any { return r.SetUps })
	add("clampings", "", func(r *study.ComparedResult) any { return r.Clampings })
	add("times carried", "", func(r *study.ComparedResult) any { return r.Trips })
	add("carried", "m", func(r *study.ComparedResult) any { return r.Metres })
	add("of it to and from the stores", "m", func(r *study.ComparedResult) any { return r.Stores })
	add("of it to and from the dock", "m", func(r *study.ComparedResult) any { return r.Dock })
	add("of it to and from outside work", "m", func(r *study.ComparedResult) any { return r.Away })
	add("set-up", "min", func(r *study.ComparedResult) any { return r.SetUpMin })
	add("run", "min", func(r *study.ComparedResult) any { return r.RunMin })
	add("stop", "min", func(r *study.ComparedResult) any { return r.StopMin })
	add("machine minutes of a good piece", "min",
		func(r *study.ComparedResult) any { return number(r.EachMin) })
	add("machine", money, func(r *study.ComparedResult) any { return r.Machine })
	add("labour", money, func(r *study.ComparedResult) any { return r.Labour })
	add("handling", money, func(r *study.ComparedResult) any { return r.Handling })
	add("material", money, func(r *study.ComparedResult) any { return r.Material })
	add("outside", money, func(r *study.ComparedResult) any { return r.Outside })
	add("cost of the batch", money, func(r *study.ComparedResult) any { return r.Cost })
	add("cost of a good piece", money, func(r *study.ComparedResult) any { return number(r.EachCost) })
	add("of the cost, in pieces that were lost", money, func(r *study.ComparedResult) any { return r.Scrap })
	add("lead time, median", "h", func(r *study.ComparedResult) any { return r.LeadH })
	add("lead time, P85", "h", func(r *study.ComparedResult) any { return r.LeadHighH })
	add("lead time is", "", func(r *study.ComparedResult) any { return string(r.LeadIs) })
	add(
		"batches on the floor for a year's demand", "", func(r *study.ComparedResult) any {
			return number(r.WIP)
		},
	)
	return rows
}

// saidRows are the sentences of the page.
func saidRows(v *study.Comparison) [][]any {
	rows := [][]any{{"about", "what it comes to, and what that rests on"}}
	for _, list := range [][]study.Sentence{v.Answer, v.Notes} {
		for _, s := range list {
			rows = append(rows, []any{s.About, s.Say})
		}
	}
	return rows
}

// number is a value that may be missing.
func number(x *float64) any {
	if x == nil {
		return nil
	}
	return *x
}

func operationRows(v *study.Comparison) [][]any {
	rows := [][]any{
		{"route", "operation", "work centre", "clampings", "what", "low", "likely", "high", "source",
			"batches"},
	}
	for i := range v.Routes {
		for k := range v.Routes[i].Steps {
			s := &v.Routes[i].Steps[k]
			for _, x := range []struct {
				what string
				v    study.Value
			}{
				{"set-up, min", s.SetUp},
				{"piece, min", s.Piece},
				{"yield", s.Yield},
				{"stop, min", s.Stop},
				{"wait, min (high = P85)", s.Wait},
				{"outside, min (high = P85)", s.Away},
			} {
				rows = append(
					rows,
					[]any{
						v.Routes[i].Name, int(s.Operation), string(s.WorkCentre), s.Clampings, x.what,
						x.v.Low, x.v.Likely,
						x.v.High, string(x.v.Source), x.v.N,
					},
				)
			}
		}
	}
	return rows
}

func curveRows(v *study.Comparison) [][]any {
	head := []any{"pieces"}
	for i := range v.Routes {
		head = append(
			head, v.Routes[i].Name+", min of a good piece",
			fmt.Sprintf("%s, %s of a good piece", v.Routes[i].Name, v.Costs.Currency),
		)
	}
	rows := [][]any{head}
	for k := range v.Routes[0].Curve {
		row := []any{v.Routes[0].Curve[k].Size}
		for i := range v.Routes {
			p := v.Routes[i].Curve[k]
			row = append(row, number(p.EachMin), number(p.EachCost))
		}
		rows = append(rows, row)
	}
	return rows
}

func differenceRows(v *study.Comparison) [][]any {
	rows := [][]any{
		{"first", "second", "figure", "first is", "second is", "difference", "low, 95 %", "high, 95 %"},
	}
	for i := range v.Against {
		a := &v.Against[i]
		for _, f := range a.Figures {
			d := f.Difference
			rows = append(
				rows,
				[]any{
					a.First, a.Second, f.Figure, number(f.First.Value), number(f.Second.Value),
					number(d.Value),
					number(d.Low), number(d.High),
				},
			)
		}
		for _, x := range a.ByCost {
			rows = append(rows, []any{a.First, a.Second, "equal cost at pieces", nil, nil, x.Size})
		}
	}
	return rows
}

func centreRows(v *study.Comparison) [][]any {
	rows := [][]any{
		{
			"first", "second", "work centre", "machines", "first, h a year", "second, h a year",
			"load, last quarter",
			"load by the first", "load by the second", "queue by the first, min", "queue by the second, min",
		},
	}
	for i := range v.Against {
		a := &v.Against[i]
		for _, x := range a.Centres {
			rows = append(rows, []any{
				a.First, a.Second, string(x.WorkCentre), x.Machines, number(x.FirstHours),
				number(x.SecondHours),
				number(x.Load), number(x.First), number(x.Then), number(x.QueueNow), number(x.QueueThen),
			})
		}
	}
	return rows
}
