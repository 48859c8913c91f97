package web

import (
	"tallywalk/traveler/ahead"
	"tallywalk/web/live"
)

// foreseen says to the boards which batches the newest forecast expects after their due
// date, in half of all cases or more; nil where nothing is forecast.
func foreseen(source ahead.Source) func() live.Foreseen {
	if source == nil {
		return nil
	}
	return func() live.Foreseen {
		f := source.Forecast()
		if f == nil {
			return nil
		}
		out := make(live.Foreseen, len(f.Batches))
		for i := range f.Batches {
			if b := &f.Batches[i]; !b.Due.IsZero() && !b.Delivered.P50.IsZero() {
				out[b.Card] = b.Slack < 0
			}
		}
		return out
	}
}
