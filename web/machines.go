package web

import (
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
)

// machineView is what a machine did with a period. Times are clock time.
type machineView struct {
	Machine    traveler.MachineID  `json:"machine"`
	Name       string              `json:"name"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Open       float64             `json:"open_s"`
	Calendar   bool                `json:"calendar"` // false: the whole period counts as open
	Run        float64             `json:"run_s"`
	Setup      float64             `json:"setup_s"`
	FirstOff   float64             `json:"firstoff_s"`
	Stop       float64             `json:"stop_s"`
	Visits     int                 `json:"visits"`
	Batches    int                 `json:"batches"`
	Pieces     int                 `json:"pieces"`
	Good       int                 `json:"good"`
	Scrap      int                 `json:"scrap"`
	Rework     int                 `json:"rework"`
	Inferred   int                 `json:"inferred"`
	KPIs       []kpiView           `json:"kpis"`
}

// kpiView is an indicator of ISO 22400-2; null when it cannot be told.
type kpiView struct {
	Name    string   `json:"name"`
	Formula string   `json:"formula"`
	Unit    string   `json:"unit,omitempty"`
	Value   *float64 `json:"value"`
}

// notOfMachines are indicators that need the waits of an order, which belong to
// batches.
var notOfMachines = map[string]bool{"allocation ratio": true, "throughput rate": true, "production process ratio": true, "actual to planned scrap ratio": true}

func kpiViews(e *measure.Elements, leave map[string]bool) []kpiView {
	out := []kpiView{}
	for _, k := range e.KPIs() {
		if leave[k.Name] {
			continue
		}
		v := kpiView{Name: k.Name, Formula: k.Formula, Unit: k.Unit}
		if k.Known {
			v.Value = &k.Value
		}
		out = append(out, v)
	}
	return out
}

// mostMachineDays is the longest period for which machines are looked at.
const mostMachineDays = 800

// getMachineHours answers what each machine did with its hours.
func (s *Server) getMachineHours(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	if sel.to.Sub(sel.from) > mostMachineDays*24*time.Hour {
		return traveler.Invalid("from", "select.long", strconv.Itoa(mostMachineDays))
	}
	batches, err := s.facts(&sel, true)
	if err != nil {
		return err
	}
	to := sel.to
	if now := s.now(); now.Before(to) {
		to = now
	}
	shop := s.cfg.Desk.Shop()
	out := []machineView{}
	for _, h := range measure.MachinesOf(shop, batches, sel.from, to) {
		m, _ := shop.Machine(h.Machine, to)
		e := h.Elements()
		out = append(out, machineView{
			h.Machine, m.Name, m.WorkCentre, h.Open.Seconds(), h.Calendar, h.Run.Seconds(), h.Setup.Seconds(), h.FirstOff.Seconds(), h.Stop.Seconds(),
			h.Visits, h.Batches, h.Pieces, h.Good, h.Scrap, h.Rework, h.Inferred, kpiViews(&e, notOfMachines),
		})
	}
	return c.JSON(fiber.Map{"selection": sel, "machines": out, "withheld": traveler.Msg{Key: "kpi.withheld"}.Text(language(c))})
}

// aheadView is what is left of a batch, and when it may be done.
type aheadView struct {
	Card       traveler.Code `json:"card"`
	WorksOrder string        `json:"works_order,omitempty"`
	Part       string        `json:"part"`
	PartName   string        `json:"part_name,omitempty"`
	Due        string        `json:"due,omitempty"`
	Priority   int           `json:"priority"`
	Steps      int           `json:"steps"`
	Work       float64       `json:"work_s"`
	Likely     time.Time     `json:"likely"`
	Cautious   time.Time     `json:"cautious"`
	Late       string        `json:"late"` // "", likely, or only when all goes badly: cautious
	NoWaits    bool          `json:"no_waits"`
	Next       traveler.Op   `json:"next_operation,omitempty"`
}

type weekView struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Week       string              `json:"week"`
	Load       float64             `json:"load_s"`
	Open       float64             `json:"open_s"`
	Machines   int                 `json:"machines"`
	Batches    int                 `json:"batches"`
}

type waitView struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	N          int                 `json:"n"`
	P50        float64             `json:"p50_s"`
	P85        float64             `json:"p85_s"`
}

// getLoad answers what is ahead: hours by work centre and week, and for each
// batch on the floor when it may be done.
func (s *Server) getLoad(c *fiber.Ctx) error {
	weeks := c.QueryInt("weeks", 8)
	if weeks < 1 || weeks > 52 {
		return traveler.Invalid("weeks", "form.number")
	}
	now := s.now()
	sel := selection{from: now.AddDate(0, 0, -daysSelected), to: now}
	var past measure.Waits
	if err := s.eachFact(&sel, false, false, past.Add); err != nil {
		return err
	}
	shop := s.cfg.Desk.Shop()
	f := measure.Forecaster{Shop: shop, Now: now}
	f.Inside, f.Outside = past.Result()
	var ahead []measure.Ahead
	batches := []aheadView{}
	s.cfg.Desk.Open(func(fam *traveler.Family) bool {
		for i := range fam.Batches {
			switch fam.State(i) {
			case traveler.StateDone, traveler.StateCancelled:
				continue
			}
			a := f.Batch(fam, i)
			ahead = append(ahead, a)
			batches = append(batches, s.aheadOf(&fam.Batches[i], &a))
		}
		return true
	})
	load, waits := []weekView{}, []waitView{}
	monday := weekBegan(now.In(s.cfg.Zone))
	for _, w := range measure.LoadOf(shop, ahead, monday, now, weeks) {
		load = append(load, weekView{w.WorkCentre, w.Week.In(s.cfg.Zone).Format(time.DateOnly), w.Load.Seconds(), w.Open.Seconds(), w.Machines, w.Batches})
	}
	for _, m := range centreNames(shop, now) {
		w := f.Inside[m]
		waits = append(waits, waitView{m, w.N, w.P50.Seconds(), w.P85.Seconds()})
	}
	return c.JSON(fiber.Map{"weeks": load, "batches": batches, "waits": waits, "days": daysSelected, "at": now})
}

func (s *Server) aheadOf(b *traveler.Batch, a *measure.Ahead) aheadView {
	v := aheadView{
		Card: b.Card, WorksOrder: b.Order, Part: b.Part, PartName: b.Name, Due: date(b.Due), Priority: b.Priority, Steps: len(a.Steps),
		Work: a.Work.Seconds(), Likely: a.Likely, Cautious: a.Cautious, NoWaits: a.NoWaits,
	}
	if len(a.Steps) > 0 {
		v.Next = a.Steps[0].Operation
	}
	if !b.Due.IsZero() {
		switch end := s.endOfDue(b.Due); {
		case a.Likely.After(end):
			v.Late = "likely"
		case a.Cautious.After(end):
			v.Late = "cautious"
		}
	}
	return v
}

func centreNames(shop *traveler.Shop, now time.Time) (out []traveler.WorkCentre) {
	centres, _ := centresOf(shop, now)
	for _, c := range centres {
		out = append(out, c.WorkCentre)
	}
	return out
}
