package figures

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// quantilesView is a distribution of times in seconds; what rests on too few
// batches is null. Percentiles are of type 7.
type quantilesView struct {
	N   int         `json:"n"`
	P50 *float64    `json:"p50_s"`
	In  *[2]float64 `json:"p50_in_s"` // 95 % interval of the median
	P80 *float64    `json:"p80_s"`
	P85 *float64    `json:"p85_s"`
	P95 *float64    `json:"p95_s"`
	Max *float64    `json:"max_s"`
	SD  *float64    `json:"sd_s"` // standard deviation, from two on
}

func quantilesOf(q *measure.Quantiles) quantilesView {
	v := quantilesView{N: q.N}
	if q.P50Known {
		v.P50, v.Max = ask.Seconds(q.P50), ask.Seconds(q.Max)
	}
	if q.N > 1 {
		v.SD = ask.Seconds(q.SD)
	}
	if q.InKnown {
		v.In = &[2]float64{q.P50In[0].Seconds(), q.P50In[1].Seconds()}
	}
	if q.P80Known {
		v.P80, v.P85 = ask.Seconds(q.P80), ask.Seconds(q.P85)
	}
	if q.P95Known {
		v.P95 = ask.Seconds(q.P95)
	}
	return v
}

// pastBatch is a batch in a list of history.
type pastBatch struct {
	Card       traveler.Code    `json:"card"`
	WorksOrder string           `json:"works_order,omitempty"`
	Part       string           `json:"part"`
	RouteRev   string           `json:"route_rev"`
	Customer   string           `json:"customer,omitempty"`
	State      story.BatchState `json:"state"`
	Released   time.Time        `json:"released"`
	Ended      *time.Time       `json:"ended"`
	Due        string           `json:"due,omitempty"`
	Lead       float64          `json:"lead_s"`
	Parts      measure.Spent    `json:"parts"`
	Started    int              `json:"started"`
	Good       int              `json:"good"`
	Scrap      int              `json:"scrap"`
	Inferred   int              `json:"inferred"`
	Asked      int              `json:"asked"`
}

func pastOf(b *story.BatchFact, now time.Time) pastBatch {
	return pastBatch{
		Card: b.Card, WorksOrder: b.Order, Part: b.Part, RouteRev: b.Rev, Customer: b.Customer,
		State:    b.State,
		Released: b.Released, Ended: ask.Moment(b.Ended), Due: ask.Date(b.Due), Lead: b.Lead(now).Seconds(),
		Parts: measure.SpentOf(&b.Parts), Started: b.Started, Good: b.Good, Scrap: b.Scrap,
		Inferred: b.Inferred,
		Asked:    b.Asked,
	}
}

// historyView is the lead times of a selection.
type historyView struct {
	Selection  selection      `json:"selection"`
	Lead       quantilesView  `json:"lead"`
	Floor      quantilesView  `json:"floor"`
	Parts      measure.Spent  `json:"parts"`      // mean of a batch
	Efficiency *float64       `json:"efficiency"` // runs of the lead time
	Touch      *float64       `json:"touch"`      // runs and set-ups of it
	Ended      int            `json:"ended"`
	Open       int            `json:"open"`
	LeftOut    int            `json:"left_out"` // cancelled, or joined to another
	Inferred   int            `json:"inferred"` // batches of which something was inferred
	Asked      int            `json:"asked"`    // batches with an open question
	Started    int            `json:"started"`
	Good       int            `json:"good"`
	Scrap      int            `json:"scrap"`
	Rejected   *float64       `json:"rejected"` // scrap of the pieces started
	Flow       flowView       `json:"flow"`
	OnTime     onTimeView     `json:"on_time"`
	Bins       []bin          `json:"bins"`
	Series     []seriesPoint  `json:"series"`
	Points     []historyPoint `json:"points"` // newest first; at most so many as can be drawn
	Slowest    []pastBatch    `json:"slowest"`
	Floors     []pastBatch    `json:"on_floor"` // oldest first
	Pool       *leadPool      `json:"pool"`     // null unless one part is chosen that has few batches
}

// flowView is Little's law for the period, up to now at most: wip = per_day *
// mean_days, exactly.
type flowView struct {
	WIP      float64 `json:"wip"`
	Pieces   float64 `json:"pieces"`
	PerDay   float64 `json:"per_day"`   // that ended
	MeanDays float64 `json:"mean_days"` // on the floor, for each that ended; 0 when none did
	Days     float64 `json:"days"`      // of the period
	Present  int     `json:"present"`
	Released int     `json:"released"`
	Done     int     `json:"done"`
}

type onTimeView struct {
	Lines        int `json:"lines"`
	InFull       int `json:"lines_on_time"` // in full, by the date
	ByDate       int `json:"lines_by_date"` // of which nothing was late, in full or not
	Late         int `json:"lines_late"`
	Short        int `json:"lines_short"`
	LateShort    int `json:"lines_late_and_short"`
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
	Parts measure.Spent `json:"parts"`
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

// leadsOnly is what lead times are added up from.
var leadsOnly = reading{
	later: true, lent: true, without: story.FactTrip | story.FactOps | story.FactVisits,
}

// getHistory answers the lead times of a selection.
func (s *room) getHistory(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	h := s.newHistoryBuilder(&sel)
	if err := s.eachFact(c, &sel, leadsOnly, h.add); err != nil {
		return err
	}
	v := h.view()
	if v.Pool, err = s.leadsOfAlike(c, &sel, v.Ended); err != nil {
		return err
	}
	return c.JSON(v)
}

// past is what a history keeps of a batch that ended: little, for there may be
// hundreds of thousands, and nothing that points anywhere.
type past struct {
	ended    int64 // Unix seconds
	lead     float64
	parts    [8]float32 // seconds, in the order of measure.Spent
	from, to uint32     // where its card stands among the cards
}

// historyBuilder makes a history of batches that it is handed one by one.
type historyBuilder struct {
	s    *room
	sel  *selection
	now  time.Time
	v    historyView
	sum  measure.Histories
	flow measure.Flow
	on   measure.OnTimes
	past []past
	card []byte      // the cards of the past, one after the other
	slow []pastBatch // the slowest so far, the slowest first
	open []pastBatch
}

func (s *room) newHistoryBuilder(sel *selection) *historyBuilder {
	t := &historyBuilder{s: s, sel: sel, now: s.Time(), on: measure.OnTimes{DueEnd: s.endOfDue}}
	t.flow = measure.Flow{From: sel.from, To: sel.to}
	if t.now.Before(sel.to) {
		t.flow.To = t.now
	}
	return t
}

func (t *historyBuilder) add(b *story.BatchFact) {
	t.flow.Add(b)
	if !measure.InHistory(b, t.sel.to, t.now) {
		return // it was in the period's flow, and is in no other figure of it
	}
	t.on.Add(b)
	if b.Inferred > 0 {
		t.v.Inferred++
	}
	if b.Asked > 0 {
		t.v.Asked++
	}
	if !t.sum.Add(b) {
		if b.Ended.IsZero() {
			t.open = append(t.open, pastOf(b, t.now))
		}
		return
	}
	p := &b.Parts
	from := len(t.card)
	t.card = append(t.card, b.Card...)
	t.past = append(t.past, past{b.Ended.Unix(), b.Lead(t.now).Seconds(), [8]float32{
		seconds32(p.Run), seconds32(p.Setup), seconds32(p.FirstOff), seconds32(p.Stop), seconds32(p.Outside),
		seconds32(p.Transport), seconds32(p.Queue), seconds32(p.Between),
	}, uint32(from), uint32(len(t.card))})
	t.slower(b)
}

func seconds32(d time.Duration) float32 { return float32(d.Seconds()) }

// slower keeps the slowest batches.
func (t *historyBuilder) slower(b *story.BatchFact) {
	lead := b.Lead(t.now).Seconds()
	if len(t.slow) == mostSlowest && t.slow[mostSlowest-1].Lead >= lead {
		return
	}
	i, _ := slices.BinarySearchFunc(
		t.slow, lead, func(p pastBatch, lead float64) int { return cmp.Compare(lead, p.Lead) },
	)
	t.slow = slices.Insert(t.slow, i, pastOf(b, t.now))
	t.slow = t.slow[:min(mostSlowest, len(t.slow))]
}

func (t *historyBuilder) view() *historyView {
	h, v := t.sum.Result(), &t.v
	v.Selection, v.Lead, v.Floor = *t.sel, quantilesOf(&h.Lead), quantilesOf(&h.Floor)
	v.Ended, v.Open, v.LeftOut, v.Started, v.Good = h.Ended, h.Open, h.Left, h.Started, h.Good
	v.Scrap = h.Scrap
	if h.Ended > 0 {
		v.Parts = h.Parts.Each(h.Ended)
		e, touch, rejected := h.Parts.Efficiency(), h.Parts.Touch(), h.Rejected()
		v.Efficiency, v.Touch, v.Rejected = &e, &touch, &rejected
	}
	if f := &t.flow; f.To.After(f.From) {
		each, _ := f.DaysEach()
		v.Flow = flowView{f.WIP, f.Pieces, f.PerDay(), each, f.Days(), f.Present, f.Released, f.Done}
	}
	on := t.on.Result(t.now)
	v.OnTime = onTimeView{on.Lines, on.InFull, on.ByDate(), on.Late, on.Short, on.LateShort, on.Pieces,
		on.OnTimePieces, on.NoDate}
	slices.SortFunc(t.past, func(a, b past) int {
		return cmp.Or(cmp.Compare(b.ended, a.ended), bytes.Compare(t.card[a.from:a.to], t.card[b.from:b.to]))
	})
	slices.SortFunc(
		t.open,
		func(a, b pastBatch) int {
			return cmp.Or(a.Released.Compare(b.Released), cmp.Compare(a.Card, b.Card))
		},
	)
	v.Points = []historyPoint{}
	for _, p := range t.past[:min(mostPoints, len(t.past))] {
		v.Points = append(v.Points, historyPoint{traveler.Code(t.card[p.from:p.to]), p.ended, p.lead})
	}
	v.Slowest, v.Floors = ask.Some(t.slow), ask.Some(t.open[:min(mostOpen, len(t.open))])
	v.Bins, v.Series = binsOf(t.past), t.series()
	return v
}

// endOfDue is the end of a due date in the shop's zone.
func (s *room) endOfDue(due time.Time) time.Time { return calendar.EndOfDay(due, s.Zone) }

// binsOf counts lead times in bins of a round width, as many as can be seen.
func binsOf(list []past) []bin {
	longest := 0.0
	for i := range list {
		longest = math.Max(longest, list[i].lead)
	}
	width := binWidth(longest)
	out := []bin{}
	if len(list) > 0 {
		out = make([]bin, int(longest/width)+1)
	}
	for i := range out {
		out[i].From, out[i].To = float64(i)*width, float64(i+1)*width
	}
	for i := range list {
		out[min(len(out)-1, max(0, int(list[i].lead/width)))].N++
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

// series gives the lead times by month of the end; by week for half a year or
// less.
func (t *historyBuilder) series() []seriesPoint {
	weekly := t.sel.to.Sub(t.sel.from) <= 190*24*time.Hour
	out := []seriesPoint{}
	for i := 0; i < len(t.past); {
		from := t.group(t.past[i].ended, weekly)
		begun := from.Unix()
		var lead []float64
		var parts [8]float64
		for ; i < len(t.past) && t.past[i].ended >= begun; i++ {
			lead = append(lead, t.past[i].lead)
			for k, s := range t.past[i].parts {
				parts[k] += float64(s)
			}
		}
		q := measure.QuantilesOf(lead)
		for k := range parts {
			parts[k] /= float64(len(lead))
		}
		spent := measure.Spent{
			Run: parts[0], Setup: parts[1], FirstOff: parts[2], Stop: parts[3], Outside: parts[4],
			Transport: parts[5],
			Queue:     parts[6], Between: parts[7],
		}
		out = append(out, seriesPoint{from.Format(time.DateOnly), quantilesOf(&q), spent})
	}
	slices.Reverse(out)
	return out
}

// group is when the week, or the month, of a moment began.
func (t *historyBuilder) group(ended int64, weekly bool) time.Time {
	x := time.Unix(ended, 0).In(t.s.Zone)
	if weekly {
		return calendar.WeekBegan(x)
	}
	return time.Date(x.Year(), x.Month(), 1, 0, 0, 0, 0, t.s.Zone)
}
