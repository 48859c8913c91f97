package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"time"

	"tallywalk/traveler/ahead"
	webahead "tallywalk/web/ahead"
	"tallywalk/web/ask"
)

// forecastEvery is how often the floor is forecast at most.
const forecastEvery = time.Minute

// restShare is how long the forecasts rest, for what they worked: half a core is left
// for scans and boards even while the past is worked out.
const restShare = 3

// foresee keeps what is ahead of the floor up to date in the background; wait waits
// until it has ended after ctx has.
func (hs *house) foresee(ctx context.Context, c Config, zone *time.Location,
	log *slog.Logger) (source ahead.Source, wait func()) {
	if c.Ahead != nil {
		return c.Ahead(hs.desk), func() {}
	}
	w := ahead.NewWatch(ahead.Settings{
		Desk: hs.desk, Zone: zone, Now: c.Now, Tables: hs.tables, Rest: resting(ctx),
		Rule: func() ahead.Rule { return ask.ShopRule(hs.tables) },
	})
	done := make(chan struct{})
	go func() {
		defer close(done)
		every := time.NewTicker(forecastEvery)
		defer every.Stop()
		if err := w.Run(ctx, every.C); err != nil && !errors.Is(err, context.Canceled) {
			log.Error("nothing more is forecast until the server is started again", "error", sentence(err))
		}
	}()
	return w, func() { <-done }
}

// resting is a pause after a piece of work, a share of how long the work took.
func resting(ctx context.Context) func() {
	last := time.Now()
	return func() {
		pause := time.NewTimer(min(2*time.Second, time.Since(last)/restShare))
		defer pause.Stop()
		select {
		case <-ctx.Done():
		case <-pause.C:
		}
		last = time.Now()
	}
}

func cmdAhead(h host, args []string) error {
	f := flags(h, "ahead")
	dir := dataFlag(f)
	asOf := f.String("as-of", "",
		"a past moment such as 2026-11-25T10:00:00Z, or a date for its beginning; nothing that became known later is used")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	return at(h, *dir, request{Do: "ahead", AsOf: *asOf}, nil)
}

// doAhead forecasts the floor as of a moment from the record alone.
func (hs *house) doAhead(ctx context.Context, req request, out io.Writer) error {
	set, err := hs.settings()
	if err != nil {
		return err
	}
	zone, err := zoneOf(set.Zone)
	if err != nil {
		return err
	}
	now := hs.host.now()
	s := ahead.Settings{Desk: hs.desk, Zone: zone, Rule: func() ahead.Rule { return ask.ShopRule(hs.tables) }}
	if req.AsOf != "" {
		if s.Until, err = momentOf(req.AsOf, zone); err != nil {
			return err
		}
		if s.Until.After(now) {
			return &usageError{"--as-of must be a moment that has passed"}
		}
		now = s.Until
	}
	s.Now = func() time.Time { return now }
	w := ahead.NewWatch(s)
	if err := w.CatchUp(ctx); err != nil {
		return err
	}
	e := json.NewEncoder(out)
	e.SetIndent("", "  ")
	return e.Encode(webahead.View(w.Forecast(), zone))
}

// momentOf reads a moment, or a date for its beginning in a zone.
func momentOf(text string, zone *time.Location) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, text, zone)
	if err != nil {
		return t, &usageError{
			fmt.Sprintf("--as-of %s is no moment; say one such as 2026-11-25T10:00:00Z or 2026-11-25", text)}
	}
	return t, nil
}
