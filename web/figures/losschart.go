package figures

import (
	"cmp"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
)

// chartView is a control chart of what was lost by batch: shares with limits
// that are widened by the spread between batches. Batches are known by their
// route and drawing, so that a page can mark where these changed.
type chartView struct {
	Centre  float64       `json:"centre"`
	Spread  float64       `json:"spread"` // 1 = as if pieces were independent
	Rules   string        `json:"rules"`  // whose the rules are by which points signal
	Points  []chartPoint  `json:"points"`
	Signals []chartSignal `json:"signals"`
}

type chartPoint struct {
	Card  traveler.Code `json:"card"`
	Order string        `json:"works_order"`
	Ended int64         `json:"ended"`
	Lost  int           `json:"lost"`
	Of    int           `json:"of"`
	Value float64       `json:"value"`
	Low   float64       `json:"low"`
	High  float64       `json:"high"`
	Part  string        `json:"part"`
	Route string        `json:"route_rev"`
	Draw  string        `json:"drawing_rev"`
}

type chartSignal struct {
	Point int    `json:"point"`
	Rule  string `json:"rule"`
	Above bool   `json:"above"`
}

// mostCharted is how many batches a control chart shows, the newest.
const mostCharted = 100

// charted is a batch on a control chart.
type charted struct {
	card              traveler.Code
	ended             int64
	lost              stat.Share
	part, route, draw string
	order             string
}

// newest keeps the batches that ended last, as many as a control chart shows and
// some more, for they come in no order of their ends.
type newest struct {
	list []charted
	from int64 // of enough batches, the first end; what ended before is too old
}

// wants reports whether a batch that ended then may be among the newest.
func (n *newest) wants(ended int64) bool { return len(n.list) < mostCharted || ended >= n.from }

func (n *newest) add(c charted) {
	n.list = append(n.list, c)
	if len(n.list) < 4*mostCharted {
		return
	}
	slices.SortFunc(n.list, charted.compare)
	n.list = slices.Delete(n.list, 0, len(n.list)-mostCharted)
	n.from = n.list[0].ended
}

// compare puts what ended first first.
func (c charted) compare(x charted) int {
	return cmp.Or(cmp.Compare(c.ended, x.ended), cmp.Compare(c.card, x.card))
}

// lossChart follows the share of pieces lost, batch by batch.
func lossChart(done []charted) *chartView {
	slices.SortFunc(done, charted.compare)
	done = done[max(0, len(done)-mostCharted):]
	samples := make([]stat.Share, len(done))
	for i := range done {
		samples[i] = done[i].lost
	}
	ch, ok := stat.PChartBetween(samples)
	if !ok || len(done) < fewAlone {
		// Limits of so few say nothing; "no signal" would be taken for "nothing is wrong".
		return nil
	}
	v := &chartView{Centre: ch.Centre, Spread: ch.Spread, Rules: stat.NelsonRules, Points: []chartPoint{},
		Signals: []chartSignal{}}
	for i, b := range done {
		v.Points = append(
			v.Points,
			chartPoint{
				b.card, b.order, b.ended, b.lost.Count, b.lost.Of, ch.Values[i], ch.Low[i], ch.High[i],
				b.part, b.route,
				b.draw,
			},
		)
	}
	for _, x := range ch.Signals(stat.NelsonRun) {
		v.Signals = append(v.Signals, chartSignal{x.Point, string(x.Rule), x.Above})
	}
	return v
}
