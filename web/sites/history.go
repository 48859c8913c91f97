package sites

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// sitesHistoryView is what a period came to.
type sitesHistoryView struct {
	From  string     `json:"from"` // dates of the end of the batches, in each site's zone
	To    string     `json:"to"`
	Sites []sitePast `json:"sites"`
	All   sitePeriod `json:"all"` // of the batches of all sites together
}

// sitePast is the period at one site.
type sitePast struct {
	siteView
	Past sitePeriod `json:"past"`
}

// sitePeriod is what the batches of a period came to.
type sitePeriod struct {
	Sites     int         `json:"sites"`    // of which batches ended
	Finished  int         `json:"finished"` // batches
	LeftOut   int         `json:"left_out"` // cancelled, or joined to another
	Started   int         `json:"started"`  // pieces of those finished
	Good      int         `json:"good"`
	Scrap     int         `json:"scrap"`
	Rejected  *float64    `json:"rejected"`  // scrap of the pieces started
	Median    *float64    `json:"median_s"`  // lead time
	MedianIn  *[2]float64 `json:"median_in"` // 95 % interval, from six batches on
	FirstPass *float64    `json:"first_pass"`
	FirstIn   *[2]float64 `json:"first_pass_in"`      // 95 % interval between batches
	FirstOf   int         `json:"first_pass_pieces"`  // decided, counted at each operation
	FirstN    int         `json:"first_pass_batches"` // with such pieces
	Lines     int         `json:"lines"`              // of orders that were due
	OnTime    int         `json:"lines_on_time"`      // in full, by the date
}

// pooled adds up batches, of one site or of several.
type pooled struct {
	history measure.Histories
	first   measure.FirstPasses
}

func (p *pooled) add(b *story.BatchFact) {
	p.history.Add(b)
	if !b.Ended.IsZero() {
		p.first.Add(b)
	}
}

func (p *pooled) view() sitePeriod {
	h := p.history.Result()
	v := sitePeriod{Finished: h.Ended, LeftOut: h.Left, Started: h.Started, Good: h.Good, Scrap: h.Scrap}
	if h.Ended > 0 {
		v.Sites = 1
		rejected := h.Rejected()
		v.Rejected = &rejected
	}
	if h.Lead.P50Known {
		v.Median = ask.Seconds(h.Lead.P50)
	}
	if h.Lead.InKnown {
		v.MedianIn = &[2]float64{h.Lead.P50In[0].Seconds(), h.Lead.P50In[1].Seconds()}
	}
	y, known := p.first.Result()
	v.FirstN, v.FirstOf = y.Batches, y.Pieces
	if y.Batches > 0 {
		v.FirstPass = &y.Yield
	}
	if known {
		v.FirstIn = &[2]float64{y.In.Low, y.In.High}
	}
	return v
}

const daysSelected = 365

// period reads a period: the last year, when none is named.
func (s *room) period(c *fiber.Ctx) (from, to string, err error) {
	from, to = c.Query("from"), c.Query("to")
	if to == "" {
		to = s.Time().In(s.Zone).Format(time.DateOnly)
	}
	end, err := s.Midnight("to", to, 0)
	if err != nil {
		return from, to, err
	}
	if from == "" {
		from = end.AddDate(0, 0, -daysSelected).Format(time.DateOnly)
	}
	begin, err := s.Midnight("from", from, 0)
	if err == nil && end.Before(begin) {
		err = traveler.Invalid("from", "select.period", from, to)
	}
	return from, to, err
}

// getHistory answers what a period came to at each site and in all.
func (s *room) getHistory(c *fiber.Ctx) error {
	v := sitesHistoryView{Sites: []sitePast{}}
	var err error
	if v.From, v.To, err = s.period(c); err != nil {
		return err
	}
	var all pooled
	var sums sitePeriod
	for i := range s.Sites {
		site := &s.Sites[i]
		past, err := s.past(site, v.From, v.To, &all)
		if err != nil {
			return err
		}
		state, err := s.siteOf(c, site)
		if err != nil {
			return err
		}
		v.Sites = append(v.Sites, sitePast{state, past})
		sums.Sites += past.Sites
		sums.Lines += past.Lines
		sums.OnTime += past.OnTime
	}
	v.All = all.view()
	v.All.Sites, v.All.Lines, v.All.OnTime = sums.Sites, sums.Lines, sums.OnTime
	return c.JSON(v)
}

// past adds up a period at a site, and its batches to those of all.
func (s *room) past(site *ask.Site, from, to string, all *pooled) (sitePeriod, error) {
	house := s.Of(site)
	begin, err := house.Midnight("from", from, 0)
	if err != nil {
		return sitePeriod{}, err
	}
	end, err := house.Midnight("to", to, 1)
	if err != nil {
		return sitePeriod{}, err
	}
	now, own := house.Time(), pooled{}
	on := measure.OnTimes{DueEnd: func(due time.Time) time.Time { return calendar.EndOfDay(due, house.Zone) }}
	q := story.FactQuery{From: begin, Open: true, Lent: true, Without: story.FactTrip | story.FactVisits}
	err = site.Desk.Facts(q, func(b *story.BatchFact) bool {
		if measure.InHistory(b, end, now) {
			own.add(b)
			all.add(b)
			on.Add(b)
		}
		return true
	})
	v := own.view()
	lines := on.Result(now)
	v.Lines, v.OnTime = lines.Lines, lines.InFull
	return v, err
}
