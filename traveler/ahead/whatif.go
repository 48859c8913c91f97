package ahead

import (
	"context"
	"slices"

	"tallywalk/traveler"
)

// WhatIf forecasts a scenario beside the floor as it stands; it fails as Source says:
// with KindInvalid, with KindBusy, or with the context's error.
func (w *Watch) WhatIf(ctx context.Context, sc *Scenario,
	progress func(share float64)) (before, after *Forecast, err error) {
	select {
	case w.asking <- struct{}{}:
		defer func() { <-w.asking }()
	default:
		return nil, nil, traveler.Fail(traveler.KindBusy, "ahead.busy")
	}
	w.mu.Lock()
	fl, m, fix, newest := w.floor, w.model, w.fix, w.newest
	w.mu.Unlock()
	if newest == nil || newest.Method == TooFew {
		return nil, nil, traveler.Fail(traveler.KindBusy, "ahead.few")
	}
	changed, err := fl.with(sc)
	if err != nil {
		return nil, nil, err
	}
	return m.whatIf(ctx, changed, sc, newest, fix, progress)
}

// whatIf forecasts a changed floor; what has no due date is forecast twice, the
// second time with the date that it would be promised for.
func (m *Model) whatIf(
	ctx context.Context, fl *floor, sc *Scenario, newest *Forecast, fix *Correction, progress func(float64),
) (before, after *Forecast, err error) {
	full := *sc
	if full.Rule == "" {
		full.Rule = newest.Rule
	}
	rounds, undated := 1.0, false
	for i := range fl.jobs {
		undated = undated || fl.jobs[i].isNew && fl.jobs[i].due.IsZero()
	}
	if undated {
		rounds = 2
	}
	round := 0.0
	step := func(done int) bool {
		if progress != nil {
			progress((round + float64(done)/runsNow) / rounds)
		}
		return ctx.Err() == nil
	}
	if undated {
		first := *fl
		first.jobs = slices.Clone(fl.jobs)
		lead := m.usualLead()
		for i := range first.jobs {
			if j := &first.jobs[i]; j.isNew && j.due.IsZero() {
				j.due = j.from.Add(lead)
			}
		}
		f := m.forecast(&first, &full, newest.Method, runsNow, fix, step)
		if f == nil {
			return nil, nil, ctx.Err()
		}
		fl.promise(f)
		round = 1
	}
	after = m.forecast(fl, &full, newest.Method, runsNow, fix, step)
	if after == nil {
		return nil, nil, ctx.Err()
	}
	return newest, after, nil
}

// forecast is the one way from a floor to what may come of it; nil when progress
// ended it.
func (m *Model) forecast(fl *floor, sc *Scenario, method Method, runs int, fix *Correction,
	progress func(int) bool) *Forecast {
	if method == TooFew {
		f := &Forecast{AsOf: fl.now, Method: TooFew, Rule: sc.Rule}
		return f
	}
	s := m.compile(fl, sc, method)
	d := s.simulate(runs, true, progress)
	if d == nil {
		return nil
	}
	return s.forecast(d, runs, method, fix)
}
