package web

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
)

// quantilesView is a distribution of times in seconds; what rests on too few
// batches is null. Percentiles are of type 7.
type quantilesView struct {
	N   int         `json:"n"`
	P50 *float64    `json:"p50_s"`
	In  *[2]float64 `json:"p50_in_s"` // 95 % interval of the median
	P80 *float64    `json:"p80_s"`
	P95 *float64    `json:"p95_s"`
}

func quantilesOf(q *measure.Quantiles) quantilesView {
	v := quantilesView{N: q.N}
	if q.P50Known {
		v.P50 = seconds(q.P50)
	}
	if q.InKnown {
		v.In = &[2]float64{q.P50In[0].Seconds(), q.P50In[1].Seconds()}
	}
	if q.P80Known {
		v.P80 = seconds(q.P80)
	}
	if q.P95Known {
		v.P95 = seconds(q.P95)
	}
	return v
}

// pastBatch is a batch in a list of history.
type pastBatch struct {
	Card       traveler.Code       `json:"card"`
	WorksOrder string              `json:"works_order,omitempty"`
	Part       string              `json:"part"`
	RouteRev   string              `json:"route_rev"`
	Customer   string              `json:"customer,omitempty"`
	State      traveler.BatchState `json:"state"`
	Released   time.Time           `json:"released"`
	Ended      *time.Time          `json:"ended"`
	Due        string              `json:"due,omitempty"`
	Lead       float64             `json:"lead_s"`
	Parts      partsView           `json:"parts"`
	Started    int                 `json:"started"`
	Good       int                 `json:"good"`
	Scrap      int                 `json:"scrap"`
	Inferred   int                 `json:"inferred"`
	Asked      int                 `json:"asked"`
}

func pastOf(b *traveler.BatchFact, now time.Time) pastBatch {
	return pastBatch{
		Card: b.Card, WorksOrder: b.Order, Part: b.Part, RouteRev: b.Rev, Customer: b.Customer, State: b.State, Released: b.Released,
		Ended: moment(b.Ended), Due: date(b.Due), Lead: b.Lead(now).Seconds(), Parts: partsOf(&b.Parts), Started: b.Started, Good: b.Good,
		Scrap: b.Scrap, Inferred: b.Inferred, Asked: b.Asked,
	}
}

// historyView is the lead times of a selection.
type historyView struct {
	Selection  selection      `json:"selection"`
	Lead       quantilesView  `json:"lead"`
	Floor      quantilesView  `json:"floor"`
	Parts      partsView      `json:"parts"` // mean of a batch
	Efficiency *float64       `json:"efficiency"`
	Ended      int            `json:"ended"`
	Open       int            `json:"open"`
	LeftOut    int            `json:"left_out"` // cancelled, or joined to another
	Inferred   int            `json:"inferred"` // batches of which something was inferred
	Asked      int            `json:"asked"`    // batches with an open question
	Started    int            `json:"started"`
	Good       int            `json:"good"`
	Flow       flowView       `json:"flow"`
	OnTime     onTimeView     `json:"on_time"`
	Bins       []bin          `json:"bins"`
	Series     []seriesPoint  `json:"series"`
	Points     []historyPoint `json:"points"` // newest first; at most so many as can be drawn
	Slowest    []pastBatch    `json:"slowest"`
	Floors     []pastBatch    `json:"on_floor"` // oldest first
}

// flowView is Little's law for the period: wip = per_day * mean_days, exactly.
type flowView struct {
	WIP      float64 `json:"wip"`
	Pieces   float64 `json:"pieces"`
	PerDay   float64 `json:"per_day"`
	MeanDays float64 `json:"mean_days"`
	Present  int     `json:"present"`
	Released int     `json:"released"`
	Done     int     `json:"done"`
}

type onTimeView struct {
	Lines        int `json:"lines"`
	OnTimeLines  int `json:"lines_on_time"`
	Pieces       int `json:"pieces"`
	OnTimePieces int `json:"pieces_on_time"`
	NoDate       int `json:"no_date"`
}

type bin struct {
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
	N    int     `json:"n"`
}

// seriesPoint is the batches that ended in a month, or a week.
type seriesPoint struct {
	From  string        `json:"from"`
	Lead  quantilesView `json:"lead"`
	Parts partsView     `json:"parts"`
}

type historyPoint struct {
	Card  traveler.Code `json:"card"`
	Ended int64         `json:"ended"` // Unix seconds
	Lead  float64       `json:"lead_s"`
}

// How much of a long history is drawn one by one.
const (
	mostPoints  = 1500
	mostSlowest = 12
	mostOpen    = 200
	mostBins    = 24
)

// getHistory answers the lead times of a selection.
func (s *Server) getHistory(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	batches, err := s.facts(&sel, true, true)
	if err != nil {
		return err
	}
	return c.JSON(s.historyOf(&sel, batches))
}

func (s *Server) historyOf(sel *selection, batches []traveler.BatchFact) historyView {
	now := s.now()
	flow := s.flowOf(sel, batches)
	// Those that ended after the period were in its flow, and are in no other
	// figure of it.
	batches = slices.DeleteFunc(batches, func(b traveler.BatchFact) bool { return !b.Ended.IsZero() && !b.Ended.Before(sel.to) })
	h := measure.HistoryOf(batches)
	v := historyView{
		Selection: *sel, Lead: quantilesOf(&h.Lead), Floor: quantilesOf(&h.Floor), Ended: h.Ended, Open: h.Open, LeftOut: h.Left,
		Started: h.Started, Good: h.Good, Bins: []bin{}, Series: []seriesPoint{}, Points: []historyPoint{}, Slowest: []pastBatch{}, Floors: []pastBatch{},
	}
	if h.Ended > 0 {
		v.Parts = spentOf(h.Parts.Each(h.Ended))
		e := h.Parts.Efficiency()
		v.Efficiency = &e
	}
	v.Flow = flow
	on := measure.OnTimeOf(batches, s.endOfDue, now)
	v.OnTime = onTimeView{on.Lines, on.OnTimeLines, on.Pieces, on.OnTimePieces, on.NoDate}
	ended := s.lists(&v, batches, now)
	v.Bins, v.Series = binsOf(ended), s.seriesOf(sel, ended)
	return v
}

func spentOf(s measure.Spent) partsView { return partsView(s) }

// flowOf is Little's law for the period, up to now.
func (s *Server) flowOf(sel *selection, batches []traveler.BatchFact) flowView {
	to := sel.to
	if now := s.now(); now.Before(to) {
		to = now
	}
	f := measure.FlowOf(sel.from, to, batches)
	if !f.To.After(f.From) {
		return flowView{}
	}
	return flowView{f.WIP, f.Pieces, f.PerDay(), f.MeanWithin().Hours() / 24, f.Present, f.Released, f.Done}
}

// endOfDue is the end of a due date in the shop's zone.
func (s *Server) endOfDue(due time.Time) time.Time {
	y, m, d := due.Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, s.cfg.Zone)
}

// lists fills the lists of a history and gives the batches that ended and have
// a lead time, the newest first.
func (s *Server) lists(v *historyView, batches []traveler.BatchFact, now time.Time) []*traveler.BatchFact {
	var ended, open []*traveler.BatchFact
	for i := range batches {
		b := &batches[i]
		if b.Inferred > 0 {
			v.Inferred++
		}
		if b.Asked > 0 {
			v.Asked++
		}
		switch {
		case b.Ended.IsZero():
			open = append(open, b)
		case b.State != traveler.StateCancelled && b.Joined == "":
			ended = append(ended, b)
		}
	}
	slices.SortFunc(ended, func(a, b *traveler.BatchFact) int {
		return cmp.Or(cmp.Compare(b.Lead(now), a.Lead(now)), cmp.Compare(a.Card, b.Card))
	})
	for _, b := range ended[:min(mostSlowest, len(ended))] {
		v.Slowest = append(v.Slowest, pastOf(b, now))
	}
	slices.SortFunc(open, func(a, b *traveler.BatchFact) int {
		return cmp.Or(a.Released.Compare(b.Released), cmp.Compare(a.Card, b.Card))
	})
	for _, b := range open[:min(mostOpen, len(open))] {
		v.Floors = append(v.Floors, pastOf(b, now))
	}
	slices.SortFunc(ended, func(a, b *traveler.BatchFact) int {
		return cmp.Or(b.Ended.Compare(a.Ended), cmp.Compare(a.Card, b.Card))
	})
	for _, b := range ended[:min(mostPoints, len(ended))] {
		v.Points = append(v.Points, historyPoint{b.Card, b.Ended.Unix(), b.Lead(now).Seconds()})
	}
	return ended
}

// binsOf counts lead times in bins of a round width, as many as can be seen.
func binsOf(ended []*traveler.BatchFact) []bin {
	out := []bin{}
	if len(ended) == 0 {
		return out
	}
	longest := 0.0
	for _, b := range ended {
		longest = math.Max(longest, b.Ended.Sub(b.Released).Seconds())
	}
	width := binWidth(longest)
	out = make([]bin, int(longest/width)+1)
	for i := range out {
		out[i].From, out[i].To = float64(i)*width, float64(i+1)*width
	}
	for _, b := range ended {
		out[min(len(out)-1, max(0, int(b.Ended.Sub(b.Released).Seconds()/width)))].N++
	}
	return out
}

func binWidth(longest float64) float64 {
	hours := []float64{1, 2, 4, 8, 12, 24, 48, 72, 120, 168, 336, 720, 1440}
	for _, h := range hours {
		if longest/(h*3600) < mostBins {
			return h * 3600
		}
	}
	return math.Ceil(longest/mostBins/86400) * 86400
}

// seriesOf gives the lead times by month of the end; by week for half a year or
// less.
func (s *Server) seriesOf(sel *selection, ended []*traveler.BatchFact) []seriesPoint {
	weekly := sel.to.Sub(sel.from) <= 190*24*time.Hour
	groups := map[string][]*traveler.BatchFact{}
	for _, b := range ended {
		t := b.Ended.In(s.cfg.Zone)
		from := time.Date(t.Year(), t.Month(), 1, 0, 0, 0, 0, s.cfg.Zone)
		if weekly {
			from = weekBegan(t)
		}
		key := from.Format(time.DateOnly)
		groups[key] = append(groups[key], b)
	}
	out := []seriesPoint{}
	for key, list := range groups {
		times := make([]time.Duration, len(list))
		var parts measure.Spent
		for i, b := range list {
			times[i] = b.Ended.Sub(b.Released)
			parts.Add(&b.Parts)
		}
		q := measure.QuantilesOf(times)
		out = append(out, seriesPoint{key, quantilesOf(&q), spentOf(parts.Each(len(list)))})
	}
	slices.SortFunc(out, func(a, b seriesPoint) int { return cmp.Compare(a.From, b.From) })
	return out
}
