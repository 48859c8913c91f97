package figures

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// lossBar is a bar of a Pareto chart. Cost is null where a rate is missing.
type lossBar struct {
	Key     string   `json:"key"`
	Events  int      `json:"events"`
	Pieces  int      `json:"pieces"`
	Minutes float64  `json:"minutes"`
	Cost    *float64 `json:"cost"`
	Batches int      `json:"batches"`
}

var lossKinds = []measure.LossKind{
	measure.LossScrap, measure.LossRework, measure.LossReview, measure.LossStop,
}

var lossBys = []measure.LossBy{
	measure.LossByReason, measure.LossByFound, measure.LossByCaused, measure.LossByPart,
	measure.LossByMachine,
	measure.LossByClampings,
}

// lossBatch is a batch with such a loss.
type lossBatch struct {
	Card       traveler.Code `json:"card"`
	WorksOrder string        `json:"works_order,omitempty"`
	Part       string        `json:"part"`
	RouteRev   string        `json:"route_rev"`
	Ended      *time.Time    `json:"ended"`
	lossBar
}

// mostLossBatches is how many of the batches behind the losses are named, those
// that lost most.
const mostLossBatches = 30

// lossSums adds up the losses of a selection.
type lossSums struct {
	kind   measure.LossKind
	by     measure.LossBy
	key    string // of a bar, to name its batches; empty = of all
	op     traveler.Op
	at     traveler.MachineID // only what was found or stood still at it
	rates  measure.Rates
	n      int
	all    measure.Losses
	own    measure.Losses // of the batch at hand
	worst  []lossOf       // so far, those that lost most first
	yields map[traveler.RouteKey]*routeSum
	chart  newest
}

// lossOf is what one batch lost.
type lossOf struct {
	measure.Loss
	card             traveler.Code
	order, part, rev string
	ended            time.Time
}

// lossesAsked reads what is asked for.
func (s *room) lossesAsked(c *fiber.Ctx) (*lossSums, error) {
	t := &lossSums{
		kind: measure.LossKind(c.Query("kind", string(measure.LossScrap))),
		by:   measure.LossBy(c.Query("by", string(measure.LossByReason))), key: c.Query("key"),
		at: traveler.MachineID(c.Query("machine")), rates: measure.KeepRates(s.Desk.Shop()),
		yields: map[traveler.RouteKey]*routeSum{},
	}
	if !slices.Contains(lossKinds, t.kind) {
		return nil, traveler.Invalid("kind", "select.choice", string(t.kind), "scrap, rework, review, stop")
	}
	if !slices.Contains(lossBys, t.by) {
		return nil, traveler.Invalid(
			"by", "select.choice", string(t.by), "reason, found, caused, part, machine, clampings",
		)
	}
	if text := c.Query("operation"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			return nil, traveler.Invalid("operation", "form.number")
		}
		t.op = traveler.Op(n)
	}
	t.all, t.own = t.losses(), t.losses()
	return t, nil
}

func (t *lossSums) losses() measure.Losses {
	return measure.Losses{Kind: t.kind, By: t.by, Rates: t.rates, Op: t.op, Machine: t.at}
}

// lossesOnly is what losses are added up from.
var lossesOnly = reading{
	lent: true, without: story.FactTrip | story.FactIDs | story.FactSpent | story.FactBusy,
}

// lossesView is where pieces and minutes were lost.
type lossesView struct {
	Selection selection          `json:"selection"`
	Kind      measure.LossKind   `json:"kind"`
	By        measure.LossBy     `json:"by"`
	Key       string             `json:"key"`       // of the bar whose batches are named; empty = of all
	Operation traveler.Op        `json:"operation"` // 0 = any
	Machine   traveler.MachineID `json:"machine"`
	Bars      []lossBar          `json:"bars"`
	Batches   int                `json:"batches"`
	Worst     []lossBatch        `json:"worst"` // that lost most
	Routes    []routeYieldView   `json:"routes"`
	Pool      *yieldPool         `json:"pool"`  // null unless one part is chosen that has few batches
	Chart     *chartView         `json:"chart"` // null where there are too few batches
}

// getLosses answers where pieces and minutes were lost.
func (s *room) getLosses(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	t, err := s.lossesAsked(c)
	if err != nil {
		return err
	}
	if err := s.eachFact(c, &sel, lossesOnly, t.add); err != nil {
		return err
	}
	routes := routeYields(t.yields)
	pool, err := s.yieldsOfAlike(c, &sel, routes)
	if err != nil {
		return err
	}
	bars := []lossBar{}
	for _, l := range t.all.Result() {
		bars = append(bars, barOf(&l))
	}
	return c.JSON(
		lossesView{
			sel, t.kind, t.by, t.key, t.op, t.at, bars, t.n, t.mostLost(), routes, pool,
			lossChart(t.chart.list),
		},
	)
}

func barOf(l *measure.Loss) lossBar {
	v := lossBar{Key: l.Key, Events: l.Events, Pieces: l.Pieces, Minutes: l.Minutes, Batches: l.Batches}
	if l.Rated {
		v.Cost = &l.Cost
	}
	return v
}

func (t *lossSums) add(b *story.BatchFact) {
	t.n++
	t.own.Reset()
	t.own.Add(b)
	bars := t.own.Result()
	t.all.Merge(bars)
	t.keepLargest(b, bars)
	k := traveler.RouteKey{Part: b.Part, Rev: b.Rev}
	sum := t.yields[k]
	if sum == nil {
		sum = &routeSum{name: b.Name}
		t.yields[k] = sum
	}
	if sum.yields.Add(b) && b.Started > 0 && t.chart.wants(b.Ended.Unix()) {
		t.chart.add(t.charted(b, bars))
	}
}

// keepLargest keeps what one batch lost, if it is among those that lost most.
func (t *lossSums) keepLargest(b *story.BatchFact, bars []measure.Loss) {
	sum := measure.Loss{Rated: true}
	for i := range bars {
		if l := &bars[i]; t.key == "" || t.key == l.Key {
			sum.Events, sum.Pieces = sum.Events+l.Events, sum.Pieces+l.Pieces
			sum.Minutes, sum.Cost = sum.Minutes+l.Minutes, sum.Cost+l.Cost
			sum.Rated = sum.Rated && l.Rated
		}
	}
	if sum.Events == 0 {
		return
	}
	sum.Batches = 1
	x := lossOf{sum, b.Card, b.Order, b.Part, b.Rev, b.Ended}
	if n := len(t.worst); n == mostLossBatches && x.compare(&t.worst[n-1]) >= 0 {
		return
	}
	i, _ := slices.BinarySearchFunc(t.worst, &x, func(w lossOf, x *lossOf) int { return w.compare(x) })
	t.worst = slices.Insert(t.worst, i, x)
	t.worst = t.worst[:min(mostLossBatches, len(t.worst))]
}

// compare puts what lost most first.
func (l *lossOf) compare(x *lossOf) int {
	return cmp.Or(
		cmp.Compare(x.known(), l.known()), cmp.Compare(x.Minutes, l.Minutes), cmp.Compare(x.Pieces, l.Pieces),
		cmp.Compare(l.card, x.card),
	)
}

// known is the cost where every rate is known, else nothing.
func (l *lossOf) known() float64 {
	if l.Rated {
		return l.Cost
	}
	return 0
}

func (t *lossSums) mostLost() []lossBatch {
	out := []lossBatch{}
	for i := range t.worst {
		l := &t.worst[i]
		out = append(out, lossBatch{l.card, l.order, l.part, l.rev, ask.Moment(l.ended), barOf(&l.Loss)})
	}
	return out
}

// charted is what one batch lost: of the bars that were asked for, but all scrap
// where nothing narrower is, and scrap where stops are.
func (t *lossSums) charted(b *story.BatchFact, bars []measure.Loss) charted {
	out := charted{
		card: b.Card, ended: b.Ended.Unix(), order: b.Order, part: b.Part, route: b.Rev, draw: b.Drawing,
	}
	n := b.Scrap
	if t.op != 0 || t.at != "" || t.kind == measure.LossRework || t.kind == measure.LossReview {
		if t.kind == measure.LossStop {
			own := t.losses()
			own.Kind = measure.LossScrap
			own.Add(b)
			bars = own.Result()
		}
		n = 0
		for _, l := range bars {
			n += l.Pieces
		}
	}
	out.lost = stat.Share{Count: min(n, b.Started), Of: b.Started}
	return out
}
