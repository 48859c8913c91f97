package compare

import (
	"cmp"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
)

// caseAsk asks what a machine would come to.
type caseAsk struct {
	Machine caseMachine  `json:"machine"`
	Members []caseMember `json:"members"`
	Costs   study.Costs  `json:"costs,omitzero"`
	Worth   caseWorth    `json:"worth,omitzero"`
}

// caseMachine is the machine, and how long it is there.
type caseMachine struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Price      float64             `json:"price,omitempty"`
	OneOff     float64             `json:"one_off,omitempty"`
	OpenWeek   float64             `json:"open_h_week,omitempty"`
	Weeks      float64             `json:"weeks,omitempty"`
	Busy       *float64            `json:"busy" api:"optional"` // with other work, as a part; null or left out = as in the last quarter, without the members
}

// caseMember is a part that the machine would make.
type caseMember struct {
	Part   string   `json:"part"`
	Demand float64  `json:"demand,omitempty"` // good pieces a year
	Size   int      `json:"size"`             // pieces started in a batch
	Now    routeAsk `json:"now"`
	Then   routeAsk `json:"then"`
}

// caseWorth is what hours that are freed are worth.
type caseWorth struct {
	Replaced float64 `json:"replaced,omitempty"` // part of them that is sold again
	Hour     float64 `json:"hour,omitempty"`     // money for one
	Labour   float64 `json:"labour,omitempty"`   // part of the labour that is saved in cash
}

// caseView is what a machine comes to in a year.
type caseView struct {
	Factor      float64                          `json:"factor"`  // of the demand
	Batches     *float64                         `json:"batches"` // null, here and below: more than can be said
	Good        float64                          `json:"good"`
	Freed       map[traveler.WorkCentre]*float64 `json:"freed_h"`
	Taken       *float64                         `json:"taken_h"`
	Cash        *float64                         `json:"cash"`
	HoursValue  *float64                         `json:"hours_value"`
	Invest      float64                          `json:"invest"`
	Payback     *float64                         `json:"payback_years"` // null = never
	PaybackCash *float64                         `json:"payback_cash_years"`
	Load        *float64                         `json:"load"`
	Fits        bool                             `json:"fits"`
	QueueMin    *float64                         `json:"queue_min"`
	Backlog     *float64                         `json:"down_backlog_h"` // of a week down
	Recover     *float64                         `json:"down_recover_weeks"`
}

// casesView is a machine at the demand that was asked, at half and at double.
type casesView struct {
	Currency string      `json:"currency"`
	Cases    []caseView  `json:"cases"`
	Busy     float64     `json:"busy"`    // with other work, as it was taken
	Quarter  centreStart `json:"quarter"` // what the work centre did in the last one
}

// postCase answers a machine case: as asked, at half and at double the demand.
func (s *room) postCase(c *fiber.Ctx) error {
	var in caseAsk
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	in.Costs.Currency = cmp.Or(in.Costs.Currency, s.Currency)
	if err := in.fits(); err != nil {
		return err
	}
	m := study.Machine{
		WorkCentre: in.Machine.WorkCentre, Price: in.Machine.Price, OneOff: in.Machine.OneOff,
		OpenWeek: in.Machine.OpenWeek, Weeks: in.Machine.Weeks,
	}
	st, err := s.study(&compareAsk{})
	if err != nil {
		return err
	}
	var members []study.Member
	start := centreStart{WorkCentre: m.WorkCentre}
	own := map[string]bool{} // parts whose hours are taken off already
	start.take(st.usual.loads[m.WorkCentre])
	for i := range in.Members {
		p := &in.Members[i]
		if err := st.of(&compareAsk{Part: p.Part, Size: p.Size}); err != nil {
			return err
		}
		if !own[p.Part] {
			own[p.Part] = true
			start.without(st.ownHours()[m.WorkCentre])
		}
		now, _, err := st.route(&p.Now)
		if err != nil {
			return err
		}
		then, _, err := st.route(&p.Then)
		if err != nil {
			return err
		}
		members = append(
			members, study.Member{Part: p.Part, Demand: p.Demand, Size: float64(p.Size), Now: *now,
				Then: *then},
		)
	}
	m.Busy = start.Others
	if in.Machine.Busy != nil {
		m.Busy = *in.Machine.Busy
	}
	w := study.Worth{Replaced: in.Worth.Replaced, Hour: in.Worth.Hour, Labour: in.Worth.Labour}
	out := []caseView{}
	for _, factor := range []float64{1, 0.5, 2} {
		x := study.CaseOf(&m, members, &in.Costs, &w, factor)
		out = append(out, caseViewOf(factor, &x))
	}
	return answerFigures(c, casesView{in.Costs.Currency, out, m.Busy, start})
}

// centreStart is what a work centre did in the last quarter of a year: from where
// a machine case starts.
type centreStart struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Machines   int                 `json:"machines"`
	OpenWeek   float64             `json:"open_h_week"` // of one machine
	Load       float64             `json:"load"`        // part of its open time, as everywhere
	Others     float64             `json:"others"`      // of it, by what is none of the members

	open, busy float64
}

func (c *centreStart) take(l *centreLoad) {
	if l == nil || l.open <= 0 || l.machines == 0 {
		return
	}
	c.open, c.busy, c.Machines = l.open, l.busy, l.machines
	c.OpenWeek = l.open / float64(l.machines) / (loadDays / 7)
	c.Load, c.Others = l.load(), l.load()
}

// without takes the hours of a member off.
func (c *centreStart) without(hours float64) {
	if c.open > 0 {
		c.busy -= hours
		c.Others = min(1, max(0, c.busy/c.open))
	}
}

func caseViewOf(factor float64, x *study.Case) caseView {
	freed := map[traveler.WorkCentre]*float64{}
	for wc, h := range x.Freed {
		freed[wc] = finite(h)
	}
	return caseView{
		factor, finite(x.Batches), x.Good, freed, finite(x.Taken), finite(x.Cash), finite(x.HoursValue),
		x.Invest,
		finite(x.Payback), finite(x.PaybackNo), finite(x.Load), x.Fits, finite(x.QueueMin), finite(x.Backlog),
		finite(x.Recover),
	}
}

func (in *caseAsk) fits() error {
	if err := costsFit(&in.Costs); err != nil {
		return err
	}
	if in.Machine.WorkCentre == "" {
		return traveler.Invalid("work_centre", "form.missing")
	}
	if len(in.Members) == 0 || len(in.Members) > mostMembers {
		return traveler.Invalid("members", "compare.members")
	}
	for _, x := range []float64{
		in.Machine.Price, in.Machine.OneOff, in.Machine.OpenWeek, in.Machine.Weeks, in.Worth.Hour,
	} {
		if !(x >= 0 && x <= mostMoney) {
			return traveler.Invalid("machine", "form.number")
		}
	}
	shares := []float64{in.Worth.Replaced, in.Worth.Labour}
	if in.Machine.Busy != nil {
		shares = append(shares, *in.Machine.Busy)
	}
	for _, x := range shares {
		if !(x >= 0 && x <= 1) {
			return traveler.Invalid("worth", "form.number")
		}
	}
	for i := range in.Members {
		if p := &in.Members[i]; p.Size < 1 || p.Size > mostSize || !(p.Demand >= 0 && p.Demand <= 1e9) {
			return traveler.Invalid("members", "form.number")
		}
	}
	return nil
}
