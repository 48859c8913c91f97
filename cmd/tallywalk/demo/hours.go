package demo

import (
	"math/rand/v2"
	"sort"
	"time"

	"tallywalk/traveler/calendar"
)

// pauseMost is the longest closed time that is a break rather than the end of a
// shift.
const pauseMost = 45 * time.Minute

// simHours is when someone minds a machine: its calendar, less the shifts in
// which nobody came.
type simHours struct {
	cal    *calendar.Hours
	zone   *time.Location
	rng    *rand.Rand
	absent float64         // chance that nobody comes for half a day
	till   time.Time       // worked out up to here
	spans  []calendar.Span // with breaks between them
	long   []calendar.Span // breaks run through
}

// newSimHours works hours out from a moment on.
func newSimHours(cal *calendar.Hours, zone *time.Location, from time.Time, absent float64,
	rng *rand.Rand) *simHours {
	return &simHours{cal: cal, zone: zone, rng: rng, absent: absent, till: midnight(from.In(zone))}
}

// need works out days up to some weeks after t.
func (h *simHours) need(t time.Time) {
	for !h.till.After(t.AddDate(0, 0, 21)) {
		day := h.till
		h.till = day.AddDate(0, 0, 1)
		noon := clockOn(day, 14, 0)
		for _, half := range [][2]time.Time{{day, noon}, {noon, h.till}} {
			spans := h.cal.Spans(half[0], half[1])
			if away := h.rng.Float64() < h.absent; len(spans) == 0 || away {
				continue
			}
			for _, sp := range spans {
				h.spans = join(h.spans, sp, 0)
				h.long = join(h.long, sp, pauseMost)
			}
		}
	}
}

// join adds a span to a list; a gap up to pause is none.
func join(list []calendar.Span, sp calendar.Span, pause time.Duration) []calendar.Span {
	if n := len(list); n > 0 && sp.From.Sub(list[n-1].To) <= pause {
		list[n-1].To = sp.To
		return list
	}
	return append(list, sp)
}

// find gives the span that t lies in, or the next one.
func find(list []calendar.Span, t time.Time) (sp calendar.Span, in bool) {
	i := sort.Search(len(list), func(i int) bool { return list[i].To.After(t) })
	if i == len(list) {
		// Nothing for weeks: someone looks again later.
		return calendar.Span{From: t.AddDate(0, 0, 7), To: t.AddDate(0, 0, 7)}, false
	}
	return list[i], !list[i].From.After(t)
}

// minded gives the span between breaks that t lies in, or the next one.
func (h *simHours) minded(t time.Time) (sp calendar.Span, in bool) {
	h.need(t)
	return find(h.spans, t)
}

// day gives the shift that t lies in, breaks included, or the next one.
func (h *simHours) day(t time.Time) (sp calendar.Span, in bool) {
	h.need(t)
	return find(h.long, t)
}

// next is t itself, if someone is there, or when someone comes.
func (h *simHours) next(t time.Time) time.Time {
	sp, in := h.minded(t)
	if in {
		return t
	}
	return sp.From
}

// spend is the moment by which d of minded time has passed since t.
func (h *simHours) spend(t time.Time, d time.Duration) time.Time {
	for {
		sp, in := h.minded(t)
		if !in {
			t = sp.From
		}
		if end := t.Add(d); !end.After(sp.To) || !sp.To.After(sp.From) {
			return end
		}
		d -= sp.To.Sub(t)
		t = sp.To
	}
}
