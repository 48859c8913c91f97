package ahead

import (
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// usualHits is over how many days forecasts are looked at where nobody says, and
// mostHits over how many at most.
const (
	usualHits = 120
	mostHits  = 3650
)

// hitShare is how often the dates of one kind held. Shares are 0 to 1, null where
// nothing has come out yet.
type hitShare struct {
	N           int          `json:"n"` // forecasts that have come out
	P50Share    *float64     `json:"p50_share"`
	P85Share    *float64     `json:"p85_share"`
	P95Share    *float64     `json:"p95_share"`
	MedianWidth *float64     `json:"median_width_s"` // median of p85 - p50
	MeanError   *float64     `json:"mean_error_s"`   // mean distance of p50 from what came
	ByHorizon   []horizonHit `json:"by_horizon"`
}

// horizonHit is the forecasts whose p50 was so many days ahead.
type horizonHit struct {
	FromDays  float64  `json:"from_days"`
	ToDays    *float64 `json:"to_days"` // null = no end
	N         int      `json:"n"`
	P50Share  *float64 `json:"p50_share"`
	P85Share  *float64 `json:"p85_share"`
	MeanError *float64 `json:"mean_error_s"`
}

// hitsView is how the forecasts of past days came out: of the deliveries, and of the
// last operations.
type hitsView struct {
	hitShare
	LastOperation hitShare `json:"last_operation"`
	Days          int      `json:"days"` // on which forecasts were made
	From          string   `json:"from,omitempty"`
	To            string   `json:"to,omitempty"`
	Cancelled     int      `json:"cancelled"` // forecasts of batches that were cancelled: not counted
	Open          int      `json:"open"`      // forecasts of which it is too early to know: not counted
	// When forecasts were so far off that their dates are not to be trusted for a while;
	// null for never in the period.
	Shock *time.Time `json:"shock"`
}

func shareOf(h *core.HitShare) hitShare {
	v := hitShare{N: h.N, ByHorizon: []horizonHit{}}
	if h.N > 0 {
		v.P50Share, v.P85Share, v.P95Share = &h.P50, &h.P85, &h.P95
		v.MedianWidth, v.MeanError = ask.Seconds(h.MedianWidth), ask.Seconds(h.MeanError)
	}
	for i := range h.ByHorizon {
		x := &h.ByHorizon[i]
		r := horizonHit{FromDays: x.FromDays, N: x.N}
		if x.ToDays != 0 {
			r.ToDays = &x.ToDays
		}
		if x.N > 0 {
			r.P50Share, r.P85Share, r.MeanError = &x.P50, &x.P85, ask.Seconds(x.MeanError)
		}
		v.ByHorizon = append(v.ByHorizon, r)
	}
	return v
}

// getHits answers how the forecasts of the last days came out.
func (s *Ahead) getHits(c *fiber.Ctx) error {
	days, err := ask.QueryInt(c, "days", usualHits)
	if err != nil {
		return err
	}
	if days < 1 || days > mostHits {
		return traveler.Invalid("days", "web.days", strconv.Itoa(mostHits))
	}
	var h *core.Hits
	if s.Source != nil {
		h = s.Source.Hits(days)
	}
	if h == nil {
		h = &core.Hits{}
	}
	return c.JSON(hitsView{
		hitShare: shareOf(&h.Delivered), LastOperation: shareOf(&h.Done), Days: h.Days,
		From: s.dateOf(h.From), To: s.dateOf(h.To),
		Cancelled: h.Cancelled, Open: h.Open, Shock: moment(h.Shock),
	})
}

// ruleResult is what came of running the last quarter by one rule: the same batches,
// times and hours, only the order is another.
type ruleResult struct {
	Rule     core.Rule `json:"rule"`
	Late     float64   `json:"late_share" api:"min=0,max=1"` // of the batches with a due date
	DaysLate float64   `json:"days_late"`                    // mean of all of them, early ones as nothing
	LeadDays float64   `json:"lead_days"`                    // mean from release to the end of the last operation
	SetupH   float64   `json:"setup_hours"`
	Batches  int       `json:"batches"`
}

// rulesView is the shop's rule of order, and how each rule would have done.
type rulesView struct {
	Rule    core.Rule    `json:"rule"`  // the shop's
	Rules   []core.Rule  `json:"rules"` // to choose from
	Results []ruleResult `json:"results"`
}

// getRules answers the rules of order.
func (s *Ahead) getRules(c *fiber.Ctx) error {
	v := rulesView{Rule: ask.ShopRule(s.Tables), Rules: core.AllRules, Results: []ruleResult{}}
	if s.Source != nil {
		for _, r := range s.Source.Rules() {
			v.Results = append(v.Results, ruleResult(r))
		}
	}
	return c.JSON(v)
}

// chosenRule is a rule to go by.
type chosenRule struct {
	Rule core.Rule `json:"rule"`
}

// postRule makes a rule the shop's.
func (s *Ahead) postRule(c *fiber.Ctx) error {
	var in chosenRule
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if err := ask.KeepRule(s.Tables, in.Rule, door.Who(c).Name, s.Time()); err != nil {
		return err
	}
	return s.getRules(c)
}
