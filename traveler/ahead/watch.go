package ahead

import (
	"cmp"
	"context"
	"slices"
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// How often things are simulated.
const (
	runsNow   = 200 // of a forecast that is shown
	runsPast  = 60  // of one that is only kept
	daysKept  = 400
	daysFirst = 180 // of the past that are forecast when a server begins
)

// Settings are what a Watch needs to know.
type Settings struct {
	Desk story.Desk
	Zone *time.Location
	Now  func() time.Time
	// Rule is the order that the shop goes by; nil = ByDue.
	Rule func() Rule
	// Tables keep each day's forecasts; nil = they are worked out again.
	Tables story.Tables
	// Rest is called between pieces of work, so that nothing that someone waits for is
	// slowed down; nil = no rest.
	Rest func()
	// Days is how many days of the past are forecast when it begins; 0 = half a year.
	Days int
	// Until leaves out what became known after it: the forecast as it would have been
	// then. Zero = all is read.
	Until time.Time
}

// Watch keeps the forecasts of a shop: the newest, those of past days and what came
// of them. It is a Source, which many may ask at once while Run goes on.
type Watch struct {
	set Settings

	past   *Past // of Run alone
	order  *order
	nextAt time.Time // when the next day is kept
	sweep  time.Time // when what ended long ago is let go of next

	mu     sync.Mutex
	book   Book
	newest *Forecast
	floor  *floor
	model  *Model
	fix    *Correction
	rules  []RuleResult
	ruled  time.Time     // when they were compared
	whole  bool          // the days that have passed are forecast
	asking chan struct{} // one what-if at a time
}

// NewWatch makes one that has read nothing yet.
func NewWatch(set Settings) *Watch {
	return &Watch{set: set, past: NewPast(), asking: make(chan struct{}, 1)}
}

// morning is the time of the day as of which forecasts are kept.
const morning = 6 * time.Hour

// Run reads the record, forecasts the days that have passed, and then goes on with
// what comes: at most once in every pause. It ends with ctx, whose error it gives,
// or with the desk's.
func (w *Watch) Run(ctx context.Context, pause <-chan time.Time) error {
	if err := w.recall(); err != nil {
		return err
	}
	w.mu.Lock()
	recent := w.book.has(midnight(w.set.Now().In(w.set.Zone)).AddDate(0, 0, -1).Add(morning))
	w.mu.Unlock()
	if !recent { // the days to be worked out are many
		if err := w.quick(ctx); err != nil {
			return err
		}
	}
	if err := w.begin(ctx); err != nil {
		return err
	}
	for {
		changed := w.set.Desk.Changed()
		if err := w.goOn(ctx); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-pause:
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-changed:
		}
	}
}

// CatchUp reads the record once and forecasts, without waiting for what comes. It
// fails as Run does.
func (w *Watch) CatchUp(ctx context.Context) error {
	if err := w.recall(); err != nil {
		return err
	}
	if err := w.begin(ctx); err != nil {
		return err
	}
	return w.goOn(ctx)
}

// recall reads what was said on days that have passed. It fails as the tables do.
func (w *Watch) recall() error {
	kept, err := w.load()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.book.keep(kept)
	return err
}

// quick forecasts the floor once, before the days that have passed are: so there is
// something to look at while those are worked out. Nothing corrects it yet.
func (w *Watch) quick(ctx context.Context) error {
	set := w.set
	set.Tables = nil
	first := NewWatch(set)
	first.nextAt = w.set.Now().AddDate(1, 0, 0) // no day is kept
	var err error
	if first.order, err = newOrder(ctx, w.set.Desk, w.rest); err != nil {
		return err
	}
	if err := first.goOn(ctx); err != nil {
		return err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.newest, w.floor, w.model, w.fix = first.newest, first.floor, first.model, first.fix
	return nil
}

// isLater reports whether something became known only after what is asked about.
func (w *Watch) isLater(known time.Time) bool {
	return !w.set.Until.IsZero() && known.After(w.set.Until)
}

// begin reads the past, day by day.
func (w *Watch) begin(ctx context.Context) error {
	now := w.set.Now()
	first := midnight(now.In(w.set.Zone)).AddDate(0, 0, -cmp.Or(w.set.Days, daysFirst)).Add(morning)
	w.nextAt = first
	var err error
	if w.order, err = newOrder(ctx, w.set.Desk, w.rest); err != nil {
		return err
	}
	err = w.read(ctx, now)
	w.mu.Lock()
	w.whole = err == nil
	w.mu.Unlock()
	return err
}

// read takes what the record has beyond what was taken before, and makes the forecast of
// each morning up to now before the first entry that was known after it.
func (w *Watch) read(ctx context.Context, now time.Time) error {
	return w.order.read(ctx, func(e *traveler.Entry, known time.Time) error {
		if w.isLater(known) {
			return nil
		}
		for known.After(w.nextAt) && !w.nextAt.After(now) {
			if err := w.day(ctx); err != nil {
				return err
			}
		}
		w.take(e, known)
		return nil
	})
}

// take reads an entry; now and then what ended long ago is let go of.
func (w *Watch) take(e *traveler.Entry, known time.Time) {
	if known.After(w.sweep) {
		w.past.settle(known)
		w.sweep = known.AddDate(0, 0, 30)
	}
	w.past.Read(e)
}

// day keeps the forecasts of a morning that has passed, unless they are kept
// already.
func (w *Watch) day(ctx context.Context) error {
	at := w.nextAt
	w.nextAt = midnight(at.In(w.set.Zone)).AddDate(0, 0, 1).Add(morning)
	w.mu.Lock()
	has := w.book.has(at)
	w.mu.Unlock()
	if has {
		return ctx.Err()
	}
	defer w.rest()
	fl, m := w.past.at(w.set.Zone, at)
	w.mu.Lock()
	w.book.note(w.past)
	w.mu.Unlock()
	if m.method() == TooFew || len(fl.jobs) == 0 {
		return ctx.Err()
	}
	raw := m.bothWays(fl, w.rule(), runsPast)
	w.mu.Lock()
	all := w.book.say(fl, m, raw)
	w.book.keep(all)
	w.mu.Unlock()
	if err := w.save(at, all); err != nil {
		return err
	}
	return ctx.Err()
}

func (w *Watch) rest() {
	if w.set.Rest != nil {
		w.set.Rest()
	}
}

func (w *Watch) rule() Rule {
	if w.set.Rule == nil {
		return ByDue
	}
	return w.set.Rule()
}

// goOn reads what has come since and forecasts the floor as it is now.
func (w *Watch) goOn(ctx context.Context) error {
	now := w.set.Now()
	if err := w.read(ctx, now); err != nil {
		return err
	}
	for !w.nextAt.After(now) {
		if err := w.day(ctx); err != nil {
			return err
		}
	}
	defer w.rest()
	fl, m := w.past.at(w.set.Zone, now)
	w.mu.Lock()
	w.book.note(w.past)
	method := w.book.method(m, now)
	fix := w.book.Correction(method, now)
	w.mu.Unlock()
	f := m.forecast(fl, &Scenario{Rule: w.rule()}, method, runsNow, fix, nil)
	var rules []RuleResult
	if w.whole {
		rules = w.compareRules(m, now) // they can wait for what is looked at first
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.newest, w.floor, w.model, w.fix, w.rules = f, fl, m, fix, rules
	return nil
}

// compareRules compares them once a day.
func (w *Watch) compareRules(m *Model, now time.Time) []RuleResult {
	w.mu.Lock()
	had, since := w.rules, w.ruled
	w.mu.Unlock()
	if had != nil && now.Sub(since) < 24*time.Hour {
		return had
	}
	w.ruled = now
	return w.past.Rules(m, w.set.Zone, now)
}

// Forecast is the newest one; see Source.
func (w *Watch) Forecast() *Forecast {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.newest
}

// Hits is how the forecasts of the last days came out; see Source.
func (w *Watch) Hits(days int) *Hits {
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.whole {
		return nil // not all days that have passed are forecast yet
	}
	return w.book.Hits(w.newest.AsOf.AddDate(0, 0, -days), w.newest.AsOf)
}

// Rules is what the rules would have come to; see Source.
func (w *Watch) Rules() []RuleResult {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.rules)
}

// Busy is when a machine may be done with what it is at; see Source.
func (w *Watch) Busy(machine traveler.MachineID) Dates {
	if f := w.Forecast(); f != nil {
		return f.Machines[machine]
	}
	return Dates{}
}
