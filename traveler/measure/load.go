package measure

import (
	"slices"
	"time"

	"tallywalk/traveler"
)

// WaitStats are this shop's waits before the operations of a work centre, in
// clock time, from batches that are done.
type WaitStats struct {
	N   int
	P50 time.Duration
	P85 time.Duration
}

// Waits adds up waits by work centre: transport and queue of first-pass visits;
// and how long outside operations were away. The zero value is ready.
type Waits struct {
	waits, away map[traveler.WorkCentre][]float64
}

// Add counts a batch.
func (s *Waits) Add(b *traveler.BatchFact) {
	if s.waits == nil {
		s.waits, s.away = map[traveler.WorkCentre][]float64{}, map[traveler.WorkCentre][]float64{}
	}
	for k := range b.Visits {
		v := &b.Visits[k]
		o := opOf(b, v.Operation)
		if o == nil || v.ReworkFor != 0 || v.Begun.IsZero() {
			continue
		}
		p := &v.Parts
		s.waits[o.WorkCentre] = append(s.waits[o.WorkCentre], (p.Transport + p.Queue + p.Between).Seconds())
		if o.Outside && !v.Ended.IsZero() {
			s.away[o.WorkCentre] = append(s.away[o.WorkCentre], p.Outside.Seconds())
		}
	}
}

func opOf(b *traveler.BatchFact, op traveler.Op) *traveler.OpFact {
	for i := range b.Ops {
		if b.Ops[i].Operation == op {
			return &b.Ops[i]
		}
	}
	return nil
}

// Result is the waits before the work centres, and how long what was sent there
// was away.
func (s *Waits) Result() (inside, outside map[traveler.WorkCentre]WaitStats) {
	return statsOf(s.waits), statsOf(s.away)
}

func statsOf(in map[traveler.WorkCentre][]float64) map[traveler.WorkCentre]WaitStats {
	out := map[traveler.WorkCentre]WaitStats{}
	for wc, list := range in {
		q := QuantilesOf(list)
		out[wc] = WaitStats{q.N, q.P50, q.P85}
	}
	return out
}

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
// open time of its work centre.
func (c *Forecaster) Batch(f *traveler.Family, batch int) Ahead {
	b := &f.Batches[batch]
	out := Ahead{Batch: b.Card, Likely: c.Now, Cautious: c.Now}
	ts := f.Tallies(batch)
	next := f.NextOp(batch)
	begun := false
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
		c.step(&out, &step, o, t.Seen || begun && t.Busy)
		begun = begun || t.Seen
		if !step.Outside {
			out.Work += step.Setup + step.Run
		}
		out.Steps = append(out.Steps, step)
	}
	return out
}

// step moves both dates on by one operation.
func (c *Forecaster) step(out *Ahead, s *AheadStep, o *traveler.Operation, there bool) {
	wait := c.Inside[s.WorkCentre]
	if wait.N == 0 && !there {
		out.NoWaits = true
	}
	if there {
		wait = WaitStats{}
	}
	begins := out.Likely.Add(wait.P50)
	s.Begins = begins
	out.Likely = c.done(begins, s, o, false)
	out.Cautious = c.done(out.Cautious.Add(wait.P85), s, o, true)
}

// done is when an operation is over that begins at a moment.
func (c *Forecaster) done(at time.Time, s *AheadStep, o *traveler.Operation, cautious bool) time.Time {
	if s.Outside {
		away := time.Duration(o.OutsideDays * float64(24*time.Hour))
		if w := c.Outside[s.WorkCentre]; w.N >= FewForMedianInterval {
			away = w.P50
			if cautious {
				away = w.P85
			}
		}
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
