package measure

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Ahead is what is left to do on a batch, and when it may be done.
type Ahead struct {
	Batch traveler.Code
	Steps []AheadStep
	Work  time.Duration // planned, of the steps that are left
	// Likely is when it is done if each wait is as long as half of this shop's
	// waits; Cautious, if each is as long as all but the longest 15 % of them.
	// Waits add up in Cautious as if all went badly together.
	Likely, Cautious time.Time
	NoWaits          bool // no history of some work centre: its wait counts as nothing
}

// AheadStep is one operation that is left.
type AheadStep struct {
	Operation  traveler.Op
	WorkCentre traveler.WorkCentre
	Outside    bool
	Pieces     int
	Setup, Run time.Duration // planned, left
	Begins     time.Time     // likely
}

// Forecaster works out what is ahead.
type Forecaster struct {
	Shop            *traveler.Shop
	Inside, Outside map[traveler.WorkCentre]WaitStats
	Now             time.Time
}

// Batch works out what is left of a batch on the floor: each operation in turn
// waits as this shop's batches have waited, then takes its planned time, in the
// open time of its work centre. Of a wait that goes on already, or a time
// outside, only what is left is taken.
func (c *Forecaster) Batch(f *story.Family, batch int) Ahead {
	b := &f.Batches[batch]
	out := Ahead{Batch: b.Card, Likely: c.Now, Cautious: c.Now}
	ts := f.Tallies(batch)
	next := f.NextOp(batch)
	begun := false
	since := idleSince(f, batch)
	for k := range ts {
		o, t := &b.Ops[k], &ts[k]
		if next == 0 || o.Number < next || o.Number < b.First {
			continue
		}
		n := t.Left() + t.ReworkOpen
		if n == 0 {
			continue
		}
		step := AheadStep{Operation: o.Number, WorkCentre: o.WorkCentre, Outside: o.Outside(), Pieces: n}
		if !t.Seen {
			step.Setup = minutes(o.SetupMin)
		}
		step.Run = time.Duration(float64(n) * o.MinPerPiece() * float64(time.Minute))
		gone := c.gone(f, batch, &step, t.Seen, &since)
		c.step(&out, &step, o, t.Seen || begun && t.Busy, gone)
		begun = begun || t.Seen
		if !step.Outside {
			out.Work += step.Setup + step.Run
		}
		out.Steps = append(out.Steps, step)
	}
	return out
}

// gone is how long a batch has waited for its next operation already, or has
// been outside; nothing for those after it.
func (c *Forecaster) gone(f *story.Family, batch int, s *AheadStep, there bool,
	since *time.Time) time.Duration {
	first := *since
	*since = time.Time{}
	if there && s.Outside {
		first = outSince(f, batch, s.Operation)
	} else if there {
		return 0
	}
	if first.IsZero() {
		return 0
	}
	return positive(c.Now.Sub(first))
}

// idleSince is when a batch began to wait: the end of its last visit, or its
// release; zero while it is worked on.
func idleSince(f *story.Family, batch int) time.Time {
	t := f.Batches[batch].Released
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch != batch {
			continue
		}
		if v.Open() && v.State != story.VisitWaiting {
			return time.Time{}
		}
		if e := v.Ended(); e.After(t) {
			t = e
		}
	}
	return t
}

// outSince is when a batch was sent out for an operation; zero when it is not
// out.
func outSince(f *story.Family, batch int, op traveler.Op) (t time.Time) {
	for i := range f.Spans {
		s := &f.Spans[i]
		if v := &f.Visits[s.Visit]; v.Batch == batch && v.Operation == op && s.Kind == story.SpanOutside &&
			s.To.IsZero() && v.Open() {
			t = s.From
		}
	}
	return t
}

// step moves both dates on by one operation.
func (c *Forecaster) step(out *Ahead, s *AheadStep, o *traveler.Operation, there bool, gone time.Duration) {
	wait := c.Inside[s.WorkCentre]
	if wait.N == 0 && !there {
		out.NoWaits = true
	}
	away := c.away(s, o)
	switch {
	case there:
		wait, away = WaitStats{}, away.left(gone)
	default:
		wait = wait.left(gone)
	}
	begins := out.Likely.Add(wait.P50)
	s.Begins = begins
	out.Likely = c.done(begins, s, away.P50)
	out.Cautious = c.done(out.Cautious.Add(wait.P85), s, away.P85)
}

// away is how long an outside operation takes: as it took, or as planned where
// there is too little history.
func (c *Forecaster) away(s *AheadStep, o *traveler.Operation) WaitStats {
	if w := c.Outside[s.WorkCentre]; w.N >= FewForMedianInterval {
		return w
	}
	plan := time.Duration(o.OutsideDays * float64(24*time.Hour))
	return WaitStats{P50: plan, P85: plan}
}

// done is when an operation is over that begins at a moment; away is how long
// an outside one takes.
func (c *Forecaster) done(at time.Time, s *AheadStep, away time.Duration) time.Time {
	if s.Outside {
		return at.Add(away)
	}
	t, ok := c.Shop.CentreHours(s.WorkCentre, c.Now).After(at, s.Setup+s.Run)
	if !ok {
		return at.Add(s.Setup + s.Run)
	}
	return t
}

// CentreWeek is the load of a work centre in a week.
type CentreWeek struct {
	WorkCentre traveler.WorkCentre
	Week       time.Time // its Monday, 00:00 in the shop's zone
	Load       time.Duration
	Open       time.Duration // machine hours that its calendars give, all machines together; of this week, what is left
	Machines   int
	Batches    int
}

// LoadOf puts the work that is ahead into the weeks in which it likely begins.
// What should have begun before this week lies in this one.
func LoadOf(shop *traveler.Shop, ahead []Ahead, monday, now time.Time, weeks int) []CentreWeek {
	type key struct {
		wc   traveler.WorkCentre
		week int
	}
	sum := map[key]*CentreWeek{}
	var out []*CentreWeek
	for _, wc := range centresOf(shop, now) {
		for w := range weeks {
			a, z := monday.AddDate(0, 0, 7*w), monday.AddDate(0, 0, 7*w+7)
			cw := &CentreWeek{WorkCentre: wc, Week: a}
			for _, m := range shop.Machines(now) {
				if shop.CanWork(m.ID, wc, now) {
					cw.Machines++
					cw.Open += shop.Hours(m.ID, now).Open(later(a, now), z)
				}
			}
			sum[key{wc, w}] = cw
			out = append(out, cw)
		}
	}
	for i := range ahead {
		for k := range ahead[i].Steps {
			s := &ahead[i].Steps[k]
			if s.Outside {
				continue
			}
			w := min(weeks-1, max(0, int(s.Begins.Sub(monday)/(7*24*time.Hour))))
			if cw := sum[key{s.WorkCentre, w}]; cw != nil {
				cw.Load += s.Setup + s.Run
				cw.Batches++
			}
		}
	}
	flat := make([]CentreWeek, len(out))
	for i, cw := range out {
		flat[i] = *cw
	}
	return flat
}

func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

func centresOf(shop *traveler.Shop, at time.Time) (out []traveler.WorkCentre) {
	for _, m := range shop.Machines(at) {
		if !slices.Contains(out, m.WorkCentre) {
			out = append(out, m.WorkCentre)
		}
	}
	return out
}
