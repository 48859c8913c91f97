package figures

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/web/ask"
)

// getWeekXLSX answers a week or a month as a workbook: figures side by side, scrap by
// cause, hours of machines, planned times. Hours are hours.
func (s *room) getWeekXLSX(c *fiber.Ctx) error {
	v, err := s.week(c)
	if err != nil {
		return err
	}
	return ask.SendWorkbook(c, v.Of+"-"+v.Periods[0].From+".xlsx", []ask.Sheet{
		{Name: "figures", Rows: weekRows(v)},
		{Name: "scrap", Rows: scrapRows(v)},
		{Name: "machines", Rows: machineRows(v)},
		{Name: "planned times", Rows: learntRows(v)},
	})
}

func weekRows(v *weeksView) [][]any {
	head := []any{"figure", "unit"}
	for i := range v.Periods {
		head = append(head, v.Periods[i].From+" to "+v.Periods[i].To)
	}
	rows := [][]any{head}
	for _, x := range []struct {
		name, unit string
		of         func(*weekPeriod) any
	}{
		{"batches finished", "", func(p *weekPeriod) any { return p.Finished }},
		{"pieces started", "", func(p *weekPeriod) any { return p.Started }},
		{"pieces good", "", func(p *weekPeriod) any { return p.Good }},
		{"pieces scrapped", "", func(p *weekPeriod) any { return p.Scrap }},
		{"deliveries", "", func(p *weekPeriod) any { return p.Shipped }},
		{"pieces shipped", "", func(p *weekPeriod) any { return p.Pieces }},
		{"order lines", "", func(p *weekPeriod) any { return p.OnTime.Lines }},
		{"lines on time and in full", "", func(p *weekPeriod) any { return p.OnTime.InFull }},
		{"lines late", "", func(p *weekPeriod) any { return p.OnTime.Late }},
		{"lines short", "", func(p *weekPeriod) any { return p.OnTime.Short }},
		{"of these late and short", "", func(p *weekPeriod) any { return p.OnTime.LateShort }},
		{"machines open", "h", func(p *weekPeriod) any { return p.Open / 3600 }},
		{"run", "h", func(p *weekPeriod) any { return p.Run / 3600 }},
		{"set-up", "h", func(p *weekPeriod) any { return p.Setup / 3600 }},
		{"first-off", "h", func(p *weekPeriod) any { return p.FirstOff / 3600 }},
		{"stop", "h", func(p *weekPeriod) any { return p.Stop / 3600 }},
	} {
		row := []any{x.name, x.unit}
		for i := range v.Periods {
			row = append(row, x.of(&v.Periods[i]))
		}
		rows = append(rows, row)
	}
	return rows
}

func scrapRows(v *weeksView) [][]any {
	rows := [][]any{{"reason", "pieces", "cost", "pieces, mean of those before"}}
	for i := range v.Scrap {
		x := &v.Scrap[i]
		row := []any{x.Reason, x.Pieces, nil, x.Before}
		if x.Cost != nil {
			row[2] = *x.Cost
		}
		rows = append(rows, row)
	}
	return rows
}

func machineRows(v *weeksView) [][]any {
	rows := [][]any{{
		"machine", "name", "open, h", "run, h", "set-up, h", "first-off, h", "stop, h",
		"run, h, mean of those before",
	}}
	for i := range v.Machines {
		m := &v.Machines[i]
		rows = append(rows, []any{
			string(m.Machine), m.Name, m.Open / 3600, m.Run / 3600, m.Setup / 3600, m.FirstOff / 3600,
			m.Stop / 3600,
			m.Before / 3600,
		})
	}
	return rows
}

func learntRows(v *weeksView) [][]any {
	rows := [][]any{{
		"part", "route", "operation", "time", "planned, min", "actual, min", "actual to planned", "batches",
		"found out now",
	}}
	for i := range v.Learnt {
		f := &v.Learnt[i]
		rows = append(rows, []any{
			f.Part, f.RouteRev, int(f.Operation), f.What, f.Plan / 60, f.Actual / 60, f.Ratio, f.N, f.New,
		})
	}
	return rows
}
