package ahead

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"tallywalk/traveler"
)

// kind is which of its two dates a batch is forecast for.
type kind int

const (
	ofDone kind = iota
	ofDelivered
	kinds
)

// Kept is what was forecast of a batch on some day.
type Kept struct {
	Card  traveler.Code
	At    time.Time
	Class int // of its horizon, by the median of its delivery; see classOf
	// Said is what was shown to people, Raw what the methods drew, before it was
	// corrected: simulated, then by waits.
	Said   [kinds]said
	Raw    [2][kinds]grid
	Method Method
}

// cameOut is what became of a batch.
type cameOut struct {
	done, delivered time.Time // the same where nobody scanned the delivery
	cancelled       bool
}

func (o *cameOut) of(k kind) time.Time {
	if k == ofDone {
		return o.done
	}
	return o.delivered
}

// Book is the forecasts of past days with what came of them. It is used by one
// goroutine.
type Book struct {
	kept []Kept // by day
	out  map[traveler.Code]cameOut
}

// How much of the past corrects forecasts, and how many of them must have ended.
// Split conformal prediction (Vovk et al. 2005, from memory), one-sided and by
// horizon.
const (
	correctsFrom  = 120 * 24 * time.Hour
	correctsLeast = 60
	correctsPull  = 20 // how many of its own make a horizon count as much as all of them
)

// finishedClass is the class of batches that only wait to be delivered; the others
// are those of horizonDays.
const finishedClass = len(horizonDays)

// classes is how many classes of horizons there are.
const classes = finishedClass + 1

// spots are where among the draws of forecasts things came, by class, or how much
// later than P95; of those that have not come, that it is later than so far.
type spots [classes][]seen

// spotsOf gathers them for one method and kind, as was known at a moment.
func (b *Book) spotsOf(method int, k kind, now time.Time) (level, late spots) {
	i, _ := slices.BinarySearchFunc(b.kept, now.Add(-correctsFrom),
		func(x Kept, t time.Time) int { return x.At.Compare(t) })
	for ; i < len(b.kept) && b.kept[i].At.Before(now); i++ {
		x := &b.kept[i]
		out, ended := b.out[x.Card]
		if k == ofDone && x.Class == finishedClass || out.cancelled {
			continue
		}
		raw := &x.Raw[method][k]
		came := now
		if ended = ended && !out.of(k).After(now); ended {
			came = out.of(k)
		}
		at := came.Sub(x.At).Seconds()
		level[x.Class] = append(level[x.Class], seen{raw.levelOf(at), !ended})
		late[x.Class] = append(late[x.Class], seen{at - float64(raw[gridP95]), !ended})
	}
	return level, late
}

// conformal is the level's percentile of what was seen with one more to come: the
// least value that at least that share of them all, the next one included, is not
// above.
func conformal(all []seen, level float64) float64 {
	n := float64(len(all))
	return rightCut(all).draw(min(1, level*(n+1)/n) - 1e-12)
}

// percentiles are those at a level, by class: a class with few of its own is drawn
// towards all together. All zero where too little has ended.
func (s *spots) percentiles(level float64) (out [classes]float64) {
	var all []seen
	for c := range s {
		all = append(all, s[c]...)
	}
	if known(all) < correctsLeast {
		return out
	}
	whole := conformal(all, level)
	for c := range s {
		own := float64(known(s[c]))
		if own == 0 {
			out[c] = whole
			continue
		}
		out[c] = (own*conformal(s[c], level) + correctsPull*whole) / (own + correctsPull)
	}
	return out
}

// Correction is what the forecasts up to a moment say about how to read the next ones
// of a method.
func (b *Book) Correction(method Method, now time.Time) *Correction {
	c := &Correction{}
	for k := range kinds {
		level, late := b.spotsOf(methodNo(method), k, now)
		s := c.of(k)
		s.level = [2][classes]float64{level.percentiles(levels[0]), level.percentiles(levels[1])}
		s.late = late.percentiles(levels[2])
	}
	return c
}

func methodNo(m Method) int {
	if m == Waits {
		return 1
	}
	return 0
}

// Better is the method that did better in the last months: by the sum of pinball
// losses of its medians and its P85 (Koenker and Bassett 1978). The simulation
// where neither has ended forecasts enough.
func (b *Book) Better(now time.Time) Method {
	var loss [2]float64
	n := 0
	for i := range b.kept {
		x := &b.kept[i]
		out, ended := b.out[x.Card]
		if !ended || out.cancelled || out.done.After(now) || x.At.Before(now.Add(-correctsFrom)) ||
			x.Class == finishedClass {
			continue
		}
		n++
		came := out.done.Sub(x.At).Seconds()
		for m := range loss {
			loss[m] += pinball(0.5, came-float64(x.Raw[m][ofDone][gridP50])) +
				pinball(0.85, came-float64(x.Raw[m][ofDone][gridP85]))
		}
	}
	if n >= correctsLeast && loss[1] < loss[0] {
		return Waits
	}
	return Simulated
}

// pinball is the loss of a forecast at a level that was late by so much.
func pinball(level, late float64) float64 {
	if late >= 0 {
		return level * late
	}
	return (level - 1) * late
}

// Hits is how the forecasts made between two moments came out, as is known at the
// later one.
func (b *Book) Hits(from, to time.Time) *Hits {
	h := &Hits{From: from, To: to}
	days := map[time.Time]bool{}
	var tally [kinds]hitTally
	for i := range b.kept {
		x := &b.kept[i]
		if x.At.Before(from) || !x.At.Before(to) {
			continue
		}
		days[x.At] = true
		out, ended := b.out[x.Card]
		if out.cancelled {
			h.Cancelled++
			continue
		}
		for k := range kinds {
			came, known := out.of(k), ended && !out.of(k).After(to)
			if k == ofDone && x.Class == finishedClass {
				continue
			}
			if !tally[k].add(x, k, came, known, to) && k == ofDelivered {
				h.Open++
			}
		}
	}
	h.Days = len(days)
	h.Done, h.Delivered = tally[ofDone].share(), tally[ofDelivered].share()
	h.Shock = b.shock(from, to)
	return h
}

// hitTally counts hits of one kind of date.
type hitTally struct {
	n, by50, by85, by95 int
	ended               int
	off                 float64
	widths              []float64
	at                  [len(horizonDays)]struct {
		n, by50, by85, ended int
		off                  float64
	}
}

// add counts a forecast; false where it is too early to know. One whose date has
// passed while the batch is open has not held.
func (t *hitTally) add(x *Kept, k kind, came time.Time, ended bool, now time.Time) bool {
	s := x.Said[k]
	late := came.Sub(x.At).Seconds()
	if !ended {
		if late = now.Sub(x.At).Seconds(); late <= s[2] {
			return false
		}
	}
	h := &t.at[horizonOf(s[0])]
	t.n, h.n = t.n+1, h.n+1
	t.widths = append(t.widths, s[1]-s[0])
	if ended {
		off := max(late-s[0], s[0]-late)
		t.ended, t.off, h.ended, h.off = t.ended+1, t.off+off, h.ended+1, h.off+off
	}
	by := func(l int) int {
		if ended && late <= s[l] {
			return 1
		}
		return 0
	}
	t.by50, h.by50 = t.by50+by(0), h.by50+by(0)
	t.by85, h.by85 = t.by85+by(1), h.by85+by(1)
	t.by95 += by(2)
	return true
}

func (t *hitTally) share() (out HitShare) {
	out.N = t.n
	if t.n == 0 {
		return out
	}
	n := float64(t.n)
	out.P50, out.P85, out.P95 = float64(t.by50)/n, float64(t.by85)/n, float64(t.by95)/n
	slices.Sort(t.widths)
	out.MedianWidth = seconds(t.widths[len(t.widths)/2])
	out.MeanError = seconds(t.off / float64(max(1, t.ended)))
	for i := range t.at {
		h := &t.at[i]
		if h.n == 0 {
			continue
		}
		x := HorizonHits{FromDays: horizonDays[i], N: h.n, P50: float64(h.by50) / float64(h.n),
			P85: float64(h.by85) / float64(h.n)}
		if i+1 < len(horizonDays) {
			x.ToDays = horizonDays[i+1]
		}
		x.MeanError = seconds(h.off / float64(max(1, h.ended)))
		out.ByHorizon = append(out.ByHorizon, x)
	}
	return out
}

// A shock is when fewer than so many of the dates called 85 % of a week held, of so
// many that have come out. No source: far outside what chance does to a week.
const (
	shockShare = 0.6
	shockLeast = 30
)

// shock is the last week in a period whose forecasts did not hold: its first day.
func (b *Book) shock(from, to time.Time) (last time.Time) {
	for a := from; a.Before(to); a = a.AddDate(0, 0, 7) {
		z := a.AddDate(0, 0, 7)
		var t hitTally
		for i := range b.kept {
			x := &b.kept[i]
			if out, ended := b.out[x.Card]; !x.At.Before(a) && x.At.Before(z) && !out.cancelled {
				t.add(x, ofDelivered, out.delivered, ended && !out.delivered.After(to), to)
			}
		}
		if t.n >= shockLeast && float64(t.by85) < shockShare*float64(t.n) {
			last = a
		}
	}
	return last
}

// keep adds a day's forecasts.
func (b *Book) keep(all []Kept) {
	b.kept = append(b.kept, all...)
	slices.SortStableFunc(b.kept,
		func(x, y Kept) int { return cmp.Or(x.At.Compare(y.At), cmp.Compare(x.Card, y.Card)) })
}

// has reports whether a day's forecasts are there.
func (b *Book) has(at time.Time) bool {
	_, there := slices.BinarySearchFunc(b.kept, at, func(x Kept, t time.Time) int { return x.At.Compare(t) })
	return there
}

// note takes over what has come of batches, and drops what is too old.
func (b *Book) note(p *Past) {
	if b.out == nil {
		b.out = map[traveler.Code]cameOut{}
	}
	maps.Copy(b.out, p.out)
	clear(p.out)
	if n := len(b.kept); n > 0 {
		old := b.kept[n-1].At.AddDate(0, 0, -daysKept)
		b.kept = slices.DeleteFunc(b.kept, func(x Kept) bool { return x.At.Before(old) })
		maps.DeleteFunc(b.out,
			func(_ traveler.Code, o cameOut) bool { return !o.done.IsZero() && o.done.Before(old) })
	}
}

// method is which method speaks: the one that the history can carry and that did
// better.
func (b *Book) method(m *Model, now time.Time) Method {
	if can := m.method(); can != Simulated {
		return can
	}
	return b.Better(now)
}

// bothRaw are the draws of both methods, by batch.
type bothRaw [2][][kinds]grid

// bothWays forecasts a floor both ways.
func (m *Model) bothWays(fl *floor, rule Rule, runs int) (out bothRaw) {
	for n, method := range []Method{Simulated, Waits} {
		d := m.compile(fl, &Scenario{Rule: rule}, method).simulate(runs, false, nil)
		for i := range fl.jobs {
			out[n] = append(out[n], [kinds]grid{rawOf(d.done[i]), rawOf(d.delivered[i])})
		}
	}
	return out
}

// say is what is said of the batches on a floor, as the past corrects it.
func (b *Book) say(fl *floor, m *Model, raw bothRaw) (out []Kept) {
	method := b.method(m, fl.now)
	fix := b.Correction(method, fl.now)
	n := methodNo(method)
	for i := range fl.jobs {
		k := Kept{Card: fl.jobs[i].card, At: fl.now, Method: method,
			Raw: [2][kinds]grid{raw[0][i], raw[1][i]}}
		k.Class = classOf(fl.jobs[i].stage, float64(raw[n][i][ofDelivered][gridP50]))
		k.Said = fix.both(&k.Raw[n][ofDone], &k.Raw[n][ofDelivered], k.Class)
		out = append(out, k)
	}
	return out
}
