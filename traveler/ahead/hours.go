package ahead

import (
	"slices"
	"sort"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// horizon is how far ahead calendars are worked out; after it machines count as
// open, so that every run ends.
const horizon = 400 * 24 * time.Hour

// table is working time from a moment on, in seconds from it, with the sums before
// each stretch: what has passed by a moment, and when so much will have, by one
// search each. nil = always open.
type table struct {
	from, to []float64
	before   []float64 // open seconds before from
}

// tableOf works the hours of a machine out, as a shop knows them, with what a
// scenario adds and takes.
func tableOf(shop *traveler.Shop, id traveler.MachineID, now time.Time, sc *Scenario) *table {
	var spans []calendar.Span
	closes := false
	shop.EachHours(id, now, now.Add(horizon), func(h *calendar.Hours, a, b time.Time) {
		closes = closes || h != nil
		spans = append(spans, h.Spans(a, b)...)
	})
	for _, o := range sc.Open {
		if o.Machine == id {
			spans = append(spans, calendar.Span{From: o.From, To: o.To})
		}
	}
	for _, s := range sc.Shut {
		if s.Machine == id {
			closes = true
			spans = cut(spans, s.From, s.To)
		}
	}
	if !closes {
		return nil
	}
	return tableFrom(spans, now)
}

// cut takes a stretch out of spans.
func cut(spans []calendar.Span, from, to time.Time) (out []calendar.Span) {
	for _, s := range spans {
		if !s.To.After(from) || !s.From.Before(to) {
			out = append(out, s)
			continue
		}
		if s.From.Before(from) {
			out = append(out, calendar.Span{From: s.From, To: from})
		}
		if s.To.After(to) {
			out = append(out, calendar.Span{From: to, To: s.To})
		}
	}
	return out
}

func tableFrom(spans []calendar.Span, now time.Time) *table {
	slices.SortFunc(spans, func(a, b calendar.Span) int { return a.From.Compare(b.From) })
	t := &table{}
	sum := 0.0
	for _, s := range spans {
		a, b := max(0, s.From.Sub(now).Seconds()), s.To.Sub(now).Seconds()
		n := len(t.from)
		if n > 0 && a <= t.to[n-1] {
			if b > t.to[n-1] {
				sum += b - t.to[n-1]
				t.to[n-1] = b
			}
			continue
		}
		if b > a {
			t.from, t.to, t.before = append(t.from, a), append(t.to, b), append(t.before, sum)
			sum += b - a
		}
	}
	end := horizon.Seconds()
	t.from, t.to, t.before = append(t.from, end), append(t.to, 1e18), append(t.before, sum)
	return t
}

// union is open when any of several is.
func union(all []*table) *table {
	type span struct{ a, b float64 }
	var spans []span
	for _, t := range all {
		if t == nil {
			return nil
		}
		for i := range t.from {
			spans = append(spans, span{t.from[i], t.to[i]})
		}
	}
	if len(all) == 0 {
		return nil
	}
	if len(all) == 1 {
		return all[0]
	}
	sort.Slice(spans, func(i, j int) bool { return spans[i].a < spans[j].a })
	out := &table{}
	sum := 0.0
	for _, s := range spans {
		n := len(out.from)
		if n > 0 && s.a <= out.to[n-1] {
			if s.b > out.to[n-1] {
				sum += s.b - out.to[n-1]
				out.to[n-1] = s.b
			}
			continue
		}
		out.from, out.to, out.before = append(out.from, s.a), append(out.to, s.b), append(out.before, sum)
		sum += s.b - s.a
	}
	return out
}

// find is the stretch that a moment lies in, or the next one.
func (t *table) find(at float64) int {
	lo, hi := 0, len(t.to)-1
	for lo < hi {
		if mid := int(uint(lo+hi) >> 1); t.to[mid] > at {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// passed is how much was open from the beginning up to a moment.
func (t *table) passed(at float64) float64 {
	if t == nil {
		return at
	}
	i := t.find(at)
	return t.before[i] + max(0, at-t.from[i])
}

// next is when it is open next: at if it is.
func (t *table) next(at float64) float64 {
	if t == nil {
		return at
	}
	return max(at, t.from[t.find(at)])
}

// after is when so much open time has passed since a moment.
func (t *table) after(at, d float64) float64 {
	if t == nil {
		return at + d
	}
	if d <= 0 {
		return at
	}
	want := t.passed(at) + d
	lo, hi := 0, len(t.before)-1
	for lo < hi {
		if mid := int(uint(lo+hi+1) >> 1); t.before[mid] < want {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return t.from[lo] + want - t.before[lo]
}
