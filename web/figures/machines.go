package figures

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// machineWork is what a machine did with a period. Times are clock time.
type machineWork struct {
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

// kpiView is an indicator of ISO 22400-2; null when it is not known.
type kpiView struct {
	Name    string   `json:"name"`
	Formula string   `json:"formula"`
	Unit    string   `json:"unit,omitempty"`
	Value   *float64 `json:"value"`
}

// notOfMachines are indicators that need the waits of an order, which belong to
// batches.
var notOfMachines = map[string]bool{
	"allocation ratio": true, "throughput rate": true, "production process ratio": true,
	"actual to planned scrap ratio": true,
}

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

// hoursOnly is what hours of machines are added up from.
var hoursOnly = reading{later: true, lent: true, without: story.FactTrip | story.FactIDs}

// machineHours is what each machine did with its hours.
type machineHours struct {
	Selection selection      `json:"selection"`
	Machines  []machineWork  `json:"machines"`
	Since     string         `json:"since"` // the day from which hours count
	Visits    []machineVisit `json:"visits"`
	Found     int            `json:"found"`    // visits of the machine that was named
	Withheld  string         `json:"withheld"` // which indicators are left out, and why
}

// getMachineHours answers what each machine did with its hours.
func (s *room) getMachineHours(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	if sel.to.Sub(sel.from) > mostMachineDays*24*time.Hour {
		return traveler.Invalid("from", "select.long", strconv.Itoa(mostMachineDays))
	}
	to := sel.to
	if now := s.Time(); now.Before(to) {
		to = now
	}
	sum := measure.Machines{From: sel.from, To: to}
	visits := machineVisits{id: traveler.MachineID(c.Query("machine")), sum: &sum}
	err = s.eachFact(c, &sel, hoursOnly, func(b *story.BatchFact) {
		sum.Add(b)
		visits.add(b)
	})
	if err != nil {
		return err
	}
	shop := s.Desk.Shop()
	from := s.sinceFirst(sum.First(), sel.from)
	out := []machineWork{}
	for _, h := range sum.Result(shop, from) {
		m, _ := shop.Machine(h.Machine, to)
		e := h.Elements()
		out = append(out, machineWork{
			h.Machine, m.Name, m.WorkCentre, h.Open.Seconds(), h.Calendar, h.Run.Seconds(), h.Setup.Seconds(),
			h.FirstOff.Seconds(), h.Stop.Seconds(), h.Visits, h.Batches, h.Pieces, h.Good, h.Scrap, h.Rework,
			h.Inferred, kpiViews(&e, notOfMachines),
		})
	}
	return c.JSON(machineHours{
		sel, out, from.In(s.Zone).Format(time.DateOnly), ask.Some(visits.list), visits.found,
		traveler.Msg{Key: "kpi.withheld"}.Text(ask.Language(c)),
	})
}

// sinceFirst is the day of the first work that is known of, where that is after
// the beginning of a period: before it the hours of a young shop say nothing.
func (s *room) sinceFirst(first, from time.Time) time.Time {
	if !first.After(from) {
		return from
	}
	y, m, d := first.In(s.Zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, s.Zone)
}

// machineVisit is a visit in a machine's period, from which its hours were added
// up; stops and waits for a first-off in open time, as there.
type machineVisit struct {
	Card       traveler.Code `json:"card"`
	WorksOrder string        `json:"works_order,omitempty"`
	Part       string        `json:"part"`
	Operation  traveler.Op   `json:"operation"`
	Begun      time.Time     `json:"begun"`
	Ended      *time.Time    `json:"ended"`
	Run        float64       `json:"run_s"`
	Setup      float64       `json:"setup_s"`
	FirstOff   float64       `json:"firstoff_s"`
	Stop       float64       `json:"stop_s"`
	Good       int           `json:"good"`
	Scrap      int           `json:"scrap"`
}

// mostMachineVisits is how many visits of a machine are named, the newest.
const mostMachineVisits = 40

// machineVisits lists the newest visits of a machine, the newest first, and how
// many there were; none when no machine is named.
type machineVisits struct {
	id    traveler.MachineID
	sum   *measure.Machines
	list  []machineVisit
	found int
}

func (l *machineVisits) add(b *story.BatchFact) {
	for k := range b.Visits {
		v := &b.Visits[k]
		if v.Machine != l.id || !l.sum.Holds(v) {
			continue
		}
		l.found++
		x := machineVisitOf(b, v)
		i, _ := slices.BinarySearchFunc(l.list, x, func(a, b machineVisit) int {
			return cmp.Or(b.Begun.Compare(a.Begun), cmp.Compare(a.Card, b.Card))
		})
		if i < mostMachineVisits {
			l.list = slices.Insert(l.list, i, x)
			l.list = l.list[:min(mostMachineVisits, len(l.list))]
		}
	}
}

func machineVisitOf(b *story.BatchFact, v *story.VisitFact) machineVisit {
	stop := time.Duration(0)
	for _, x := range v.Stops {
		stop += x.Open
	}
	return machineVisit{
		b.Card, b.Order, b.Part, v.Operation, v.Begun, ask.Moment(v.Ended), v.Parts.Run.Seconds(),
		v.Parts.Setup.Seconds(), (v.Parts.FirstOff - v.Shut).Seconds(), stop.Seconds(), v.Good, v.Scrap,
	}
}
