package demo

import (
	"cmp"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// changes plans what changes in the shop during the history: a route, a
// drawing, the place of the wash.
func (s *Sim) changes() {
	history := s.open.Sub(s.from)
	before := func(most time.Duration, part float64) time.Time {
		d := min(most, time.Duration(part*float64(history)))
		return s.hours[calDay].next(s.open.Add(-d)).Add(20 * time.Minute)
	}
	s.at(before(newRouteBefore, newRoutePart), s.newRoute)
	s.at(before(newDrawingBefore, newDrawingPart), s.newDrawing)
	s.mended = before(fixtureBefore, fixturePart)
	for _, p := range s.parts {
		if p.from.After(s.from) {
			s.at(s.hours[calDay].next(p.from).Add(s.between(30, 90)), func() { s.newPart(p) })
		}
	}
	s.at(before(30*7*24*time.Hour, 0.6), func() {
		m := s.named[atWash]
		m.X, m.Y = washMovedX, washMovedY
		s.change(&traveler.Change{From: s.now, Machines: []traveler.Machine{m.Machine}})
	})
}

// newRoute releases the route that is complete in one set-up. The drawing stays.
func (s *Sim) newRoute() {
	r := adapterOneSetup()
	s.change(&traveler.Change{From: s.now, Routes: []traveler.Route{r}})
	s.partOf(r.Part).Route = r
}

// newPart releases a part that was never made here, and its first order.
func (s *Sim) newPart(p *simPart) {
	s.change(&traveler.Change{From: s.now, Routes: []traveler.Route{p.Route}})
	p.due = 0
	jobs := []*job{s.newJob(p)}
	s.number(jobs)
	s.letOut(jobs)
}

// newDrawing supersedes a drawing. What is on the floor waits for a decision.
func (s *Sim) newDrawing() {
	r := valveBodyNew()
	s.change(&traveler.Change{From: s.now, Routes: []traveler.Route{r}})
	s.partOf(r.Part).Route = r
	for _, j := range s.floor {
		if j.part == r.Part && j.packed == 0 {
			j.barred = true
		}
	}
}

// offices plans what comes by the clock: the supervisor's mornings, tablets
// that lose the network, a clock that is wrong, and what the demo must show
// when it opens.
func (s *Sim) offices() {
	s.at(s.mornings(s.now), s.morning)
	s.at(s.now.Add(s.between(20*60, 60*60)), s.network)
	s.at(s.from.Add(s.open.Sub(s.from)/3), s.wrongClock)
	s.at(s.hours[calTwo].next(s.open.AddDate(0, 0, -4)), s.stageLate)
	s.at(s.open.Add(-4*time.Hour), s.stageHold)
	s.at(s.open.Add(-35*time.Minute), s.stageStop)
}

func (s *Sim) mornings(t time.Time) time.Time {
	day := midnight(t.In(s.zone)).AddDate(0, 0, 1)
	return s.hours[calDay].next(clockOn(day, 7, 1)).Add(s.between(15, 50))
}

// away is how long the supervisor has been away when the demo opens.
const away = 77 * time.Hour

// morning is when the supervisor settles what he can.
func (s *Sim) morning() {
	s.at(s.mornings(s.now), s.morning)
	if ago := s.open.Sub(s.now); ago > 0 && ago < away {
		return // away when the demo opens: that is why so much is open
	}
	s.flush()
	type asked struct {
		q story.Question
		f *story.Family
	}
	var list []asked
	s.desk.Open(func(f *story.Family) bool {
		for _, q := range f.Questions() {
			if q.Settled == nil && s.now.Sub(q.At) > 9*time.Hour {
				list = append(list, asked{q, f})
			}
		}
		return true
	})
	slices.SortFunc(list, func(a, b asked) int {
		return cmp.Or(cmp.Compare(a.f.Root, b.f.Root), a.q.At.Compare(b.q.At), cmp.Compare(a.q.ID, b.q.ID))
	})
	at, last := s.now, traveler.Code("")
	for _, a := range list {
		if a.f.Root == last {
			continue // one at a time: an answer changes what else is asked
		}
		last = a.f.Root
		if !s.chance(settles(s.now.Sub(a.q.At))) {
			continue
		}
		choice := s.answer(a.f, &a.q)
		s.did("settled: " + string(a.q.Kind) + " " + choice)
		at = at.Add(s.between(0.3, 2))
		s.at(at, func() {
			s.officeSay(traveler.Scan{Card: string(a.q.Card), Action: traveler.ActDecide, For: a.q.ID,
				Reason: choice})
		})
	}
}

// settles is how often a question of some age is settled on a morning: some
// need someone who is not there, or a count.
func settles(age time.Duration) float64 {
	if age < 4*24*time.Hour {
		return 0.14
	}
	return 0.4
}

// answer is what the supervisor says: he goes and looks, and mostly sees what
// is so.
func (s *Sim) answer(f *story.Family, q *story.Question) string {
	want := ""
	switch q.Kind {
	case story.QuestionClosed:
		want = story.ChoiceStood
	case story.QuestionUncounted:
		want = story.ChoiceMissing
		if s.passed(f, q.Card, q.Operation)+q.Pieces <= s.truly(q.Card, q.Operation) {
			want = story.ChoiceGood
		}
	case story.QuestionOver:
		want = story.ChoiceLower
		if s.passed(f, q.Card, q.Before)+q.Pieces <= s.truly(q.Card, q.Before) {
			want = story.ChoiceRaise
		}
	case story.QuestionScan:
		want = story.ChoiceAdd
	}
	if !slices.Contains(q.Choices, want) || (q.Kind != story.QuestionClosed && s.chance(0.03)) {
		return q.Choices[0] // what first comes to mind
	}
	return want
}

// passed is how many pieces an operation is known to have let go.
func (s *Sim) passed(f *story.Family, card traveler.Code, op traveler.Op) int {
	i := f.Index(card)
	if i < 0 {
		return 0
	}
	for _, t := range f.Tallies(i) {
		if t.Operation == op {
			return t.Good
		}
	}
	return 0
}

// truly is how many pieces went on from an operation.
func (s *Sim) truly(card traveler.Code, op traveler.Op) int {
	if j := s.jobs[card]; j != nil {
		return j.out[op]
	}
	return 0
}

// network cuts a tablet off now and then.
func (s *Sim) network() {
	s.after(s.between(4*24*60, 12*24*60), s.network)
	d := s.devices[1+s.rng.IntN(len(s.devices)-1)]
	if s.open.Sub(s.now).Abs() < 8*time.Hour {
		return // whoever opens the demo sees all tablets at work
	}
	s.goAlone(d, s.between(90, 380))
}

// wrongClock is a tablet whose clock is two hours fast for some days. It has
// measured that, so its times come out right; then someone puts it right while
// it is alone, and what it says until it measures again is uncertain.
func (s *Sim) wrongClock() {
	d := s.named["T1"].dev
	s.did("wrong clock")
	d.slow -= 2 * time.Hour
	s.at(s.hours[calTwo].next(s.now.AddDate(0, 0, 4)).Add(2*time.Hour), func() {
		s.goAlone(d, 3*time.Hour)
		s.after(100*time.Minute, func() { d.wrong, d.error = 2*time.Hour, 3*time.Hour })
		s.after(3*time.Hour-time.Second, func() {
			d.slow, d.wrong, d.error = d.slow+2*time.Hour, 0, 40*time.Millisecond
		})
	})
}
