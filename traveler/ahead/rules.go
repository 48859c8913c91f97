package ahead

import (
	"math"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// quarter is how much of the past the rules are compared on, and warmUp what is
// simulated before it so that it does not begin with an empty floor.
const (
	quarter = 91 * 24 * time.Hour
	warmUp  = 28 * 24 * time.Hour
)

// Rules runs the last quarter again by each rule: the batches that came in it, with
// the times that they really took and the hours that the machines really kept;
// only the order is another. Waits that no machine was the cause of are drawn, the
// same for all rules. Nil where too little has happened.
func (p *Past) Rules(m *Model, zone *time.Location, now time.Time) (out []RuleResult) {
	from := now.Add(-quarter - warmUp)
	fl := p.replay(zone, from)
	if m.method() == TooFew || len(fl.jobs) < Few/5 {
		return nil
	}
	for _, rule := range AllRules {
		out = append(out, m.tryRule(fl, rule, now.Add(-quarter)))
	}
	return out
}

// replay is a floor as of a moment, with the batches that came after it as new ones
// and the times of their operations as they really were.
func (p *Past) replay(zone *time.Location, from time.Time) *floor {
	fl := &floor{now: from, shop: p.shop, zone: zone}
	var roots []traveler.Code
	for root := range p.seen.of {
		roots = append(roots, root)
	}
	slices.Sort(roots)
	for _, root := range roots {
		by := map[traveler.Code]int{}
		for _, s := range p.seen.of[root] {
			if s.released.Before(from) {
				continue
			}
			i, ok := by[s.card]
			if !ok {
				i = len(fl.jobs)
				by[s.card] = i
				j := job{card: s.card, part: s.part, prio: s.prio, released: s.released, from: s.released,
					since: s.released, isNew: true, key: keyOf(string(s.card))}
				if !s.due.IsZero() {
					j.due = calendar.EndOfDay(s.due, zone)
				}
				fl.jobs = append(fl.jobs, j)
			}
			x := todo{op: s.op, wc: s.wc, first: s.first, outside: s.outside, setup: s.setup, run: s.run,
				index: len(fl.jobs[i].todo)}
			if s.outside && !s.ended.IsZero() {
				x.days = s.ended.Sub(s.begun).Hours() / 24
			}
			fl.jobs[i].todo = append(fl.jobs[i].todo, x)
		}
	}
	return fl
}

// rulesRuns is how often the quarter is run by each rule.
const rulesRuns = 10

// tryRule says what a rule comes to, over the batches that came since a moment.
func (m *Model) tryRule(fl *floor, rule Rule, since time.Time) RuleResult {
	exact := *m
	exact.setups, exact.runs, exact.weeks, exact.away, exact.exact = ratios{}, ratios{}, nil, nil, true
	s := exact.compile(fl, &Scenario{Rule: rule}, Simulated)
	d := s.simulate(rulesRuns, false, nil)
	out := RuleResult{Rule: rule, SetupH: s.out.setup / rulesRuns / 3600}
	dated := 0.0
	for i := range fl.jobs {
		j := &fl.jobs[i]
		if j.released.Before(since) {
			continue
		}
		out.Batches++
		for _, at := range d.done[i] {
			out.LeadDays += (float64(at) - s.secs(j.released)) / 86400 / rulesRuns
		}
		if j.due.IsZero() {
			continue
		}
		dated++
		for _, at := range d.delivered[i] {
			late := float64(at) - s.secs(j.due)
			out.DaysLate += math.Max(0, late) / 86400 / rulesRuns
			if late > 0 {
				out.Late += 1. / rulesRuns
			}
		}
	}
	if out.Batches > 0 {
		out.LeadDays /= float64(out.Batches)
	}
	if dated > 0 {
		out.Late, out.DaysLate = out.Late/dated, out.DaysLate/dated
	}
	return out
}
