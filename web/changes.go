package web

import (
	"cmp"
	"encoding/json"
	"slices"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
)

// changeView is a figure before and after a route was changed.
type changeView struct {
	What     string        `json:"what"`
	Unit     string        `json:"unit"`
	Less     bool          `json:"less_is_better"`
	Adjusted bool          `json:"adjusted"` // as of batches of one size
	Before   sideView      `json:"before"`
	After    sideView      `json:"after"`
	Ratio    *float64      `json:"ratio"`
	Low      *float64      `json:"low"`
	High     *float64      `json:"high"`
	Smallest float64       `json:"smallest"`
	Verdict  study.Verdict `json:"verdict"`
	More     int           `json:"more"` // batches it likely takes to tell
	BadRun   bool          `json:"bad_run"`
}

// mixView is the sizes of the batches on both sides.
type mixView struct {
	Size   float64 `json:"size"` // at which times are compared
	Before float64 `json:"before"`
	After  float64 `json:"after"`
	Differ bool    `json:"differ"`
}

type sideView struct {
	N        int       `json:"n"`
	Median   *float64  `json:"median"`
	Mean     *float64  `json:"mean"` // as in a comparison: of a ratio, that of all pieces; zeros count
	Values   []float64 `json:"values"`
	Cards    []string  `json:"cards"` // of the batches with these values
	Excluded int       `json:"excluded"`
}

// look is how often a before-and-after was looked at as it grew.
type look struct {
	Looks int `json:"looks"`
	After int `json:"after"` // batches there were at the last one
}

const tableLooks = "looks"

// mostLooked is the most batches of each side that are compared, the newest of
// the old route and the oldest of the new one.
const mostLooked = 400

// getChanges compares two routes of a part as before and after a change. Looks
// are counted: each time that there are more batches than at the last look.
func (s *Server) getChanges(c *fiber.Ctx) error {
	part, before, after := c.Query("part"), c.Query("before"), c.Query("after")
	smallest := 0.10
	if v := c.Query("smallest"); v != "" {
		x, err := strconv.ParseFloat(v, 64)
		if err != nil || !(x >= 0.01 && x <= 1) {
			return traveler.Invalid("smallest", "form.number")
		}
		smallest = x
	}
	if part == "" || before == "" || after == "" || before == after {
		return traveler.Invalid("after", "compare.two")
	}
	old, fresh, err := s.sides(part, before, after)
	if err != nil {
		return err
	}
	looks, err := s.looked(part+"\n"+before+"\n"+after, len(fresh))
	if err != nil {
		return err
	}
	out := []changeView{}
	changes, mix := study.Changes(old, fresh, smallest, looks)
	for _, x := range changes {
		v := changeView{
			What: x.What, Unit: x.Unit, Less: x.LessIsBetter, Adjusted: x.Adjusted, Before: sideOf(&x.Before, old), After: sideOf(&x.After, fresh), Smallest: x.Smallest,
			Verdict: x.Verdict, More: x.More, BadRun: x.BadRun,
		}
		if x.Ratio > 0 {
			v.Ratio = finite(x.Ratio)
		}
		if x.In[1] > 0 {
			v.Low, v.High = &x.In[0], &x.In[1]
		}
		out = append(out, v)
	}
	return c.JSON(fiber.Map{"part": part, "before": before, "after": after, "looks": looks, "figures": out, "few": study.Few, "mix": mixView(mix)})
}

func sideOf(x *study.Side, list []*traveler.BatchFact) sideView {
	v := sideView{N: x.N, Values: x.Values, Cards: []string{}, Excluded: x.Excluded}
	if v.Values == nil {
		v.Values = []float64{}
	}
	for _, i := range x.Of {
		v.Cards = append(v.Cards, string(list[i].Card))
	}
	if x.N > 0 {
		v.Median, v.Mean = &x.Median, finite(x.Average)
	}
	return v
}

// sides are the batches that are done on either route, by their end.
func (s *Server) sides(part, before, after string) (old, fresh []*traveler.BatchFact, err error) {
	err = s.cfg.Desk.Facts(traveler.FactQuery{Part: part}, func(b *traveler.BatchFact) bool {
		if b.State != traveler.StateDone || b.Joined != "" {
			return true
		}
		x := *b
		switch b.Rev {
		case before:
			old = append(old, &x)
		case after:
			fresh = append(fresh, &x)
		}
		return true
	})
	byEnd := func(a, b *traveler.BatchFact) int {
		return cmp.Or(a.Ended.Compare(b.Ended), cmp.Compare(a.Card, b.Card))
	}
	slices.SortFunc(old, byEnd)
	slices.SortFunc(fresh, byEnd)
	return old[max(0, len(old)-mostLooked):], fresh[:min(mostLooked, len(fresh))], err
}

// looked counts a look, when there is more to see than at the last one.
func (s *Server) looked(key string, after int) (int, error) {
	s.once.Lock()
	defer s.once.Unlock()
	var l look
	b, err := s.cfg.Tables.Get(tableLooks, key)
	if err != nil {
		return 0, err
	}
	if b != nil && json.Unmarshal(b, &l) != nil {
		l = look{}
	}
	if l.Looks > 0 && l.After == after {
		return l.Looks, nil
	}
	l = look{Looks: l.Looks + 1, After: after}
	if b, err = json.Marshal(l); err != nil {
		return 0, err
	}
	return l.Looks, s.cfg.Tables.Put(tableLooks, key, b)
}

// caseBody asks what a machine would come to.
type caseBody struct {
	Machine struct {
		WorkCentre traveler.WorkCentre `json:"work_centre"`
		Price      float64             `json:"price"`
		OneOff     float64             `json:"one_off"`
		OpenWeek   float64             `json:"open_h_week"`
		Weeks      float64             `json:"weeks"`
		Busy       *float64            `json:"busy"` // null = as in the last quarter, without the members
	} `json:"machine"`
	Members []struct {
		Part   string   `json:"part"`
		Demand float64  `json:"demand"`
		Size   int      `json:"size"`
		Now    routeAsk `json:"now"`
		Then   routeAsk `json:"then"`
	} `json:"members"`
	Costs study.Costs `json:"costs"`
	Worth struct {
		Replaced float64 `json:"replaced"`
		Hour     float64 `json:"hour"`
		Labour   float64 `json:"labour"`
	} `json:"worth"`
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

const (
	mostMembers = 30
	mostMoney   = 1e12
)

// postCase answers a machine case: as asked, at half and at double the demand.
func (s *Server) postCase(c *fiber.Ctx) error {
	var in caseBody
	if err := decode(c, &in); err != nil {
		return err
	}
	if err := in.fits(); err != nil {
		return err
	}
	m := study.Machine{
		WorkCentre: in.Machine.WorkCentre, Price: in.Machine.Price, OneOff: in.Machine.OneOff, OpenWeek: in.Machine.OpenWeek,
		Weeks: in.Machine.Weeks,
	}
	st, err := s.study(&compareBody{})
	if err != nil {
		return err
	}
	var members []study.Member
	start := centreStart{WorkCentre: m.WorkCentre}
	own := map[string]bool{} // parts whose hours are taken off already
	start.take(st.usual.loads[m.WorkCentre])
	for i := range in.Members {
		p := &in.Members[i]
		if err := st.of(&compareBody{Part: p.Part, Size: p.Size}); err != nil {
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
		members = append(members, study.Member{Part: p.Part, Demand: p.Demand, Size: float64(p.Size), Now: *now, Then: *then})
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
	return tellFigures(c, fiber.Map{"currency": in.Costs.Currency, "cases": out, "busy": m.Busy, "quarter": start})
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
		factor, finite(x.Batches), x.Good, freed, finite(x.Taken), finite(x.Cash), finite(x.HoursValue), x.Invest, finite(x.Payback), finite(x.PaybackNo),
		finite(x.Load), x.Fits, finite(x.QueueMin), finite(x.Backlog), finite(x.Recover),
	}
}

func (in *caseBody) fits() error {
	if err := costsFit(&in.Costs); err != nil {
		return err
	}
	if in.Machine.WorkCentre == "" {
		return traveler.Invalid("work_centre", "form.missing")
	}
	if len(in.Members) == 0 || len(in.Members) > mostMembers {
		return traveler.Invalid("members", "compare.members")
	}
	for _, x := range []float64{in.Machine.Price, in.Machine.OneOff, in.Machine.OpenWeek, in.Machine.Weeks, in.Worth.Hour} {
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
