package study

import (
	"math"

	"tallywalk/traveler"
)

// Member is one part of a family that a machine would make: its yearly demand
// and its routes today and then.
type Member struct {
	Part   string
	Demand float64 // good pieces a year
	Size   float64 // pieces started in a batch
	Now    Route
	Then   Route
}

// Machine is a machine that could be bought, or one that is there.
type Machine struct {
	WorkCentre traveler.WorkCentre
	Price      float64
	OneOff     float64 // programs, fixtures, training
	OpenWeek   float64 // hours a week it can work
	Weeks      float64 // a year
	Busy       float64 // part of its open time that it is busy with other work, 0 to 1
}

// Worth says what an hour freed is worth. Hours are money only where they
// replace something that is paid for.
type Worth struct {
	// Part of the freed hours that replace overtime, outside work or refused
	// orders, 0 to 1, and what such an hour is worth.
	Replaced float64
	Hour     float64
	Labour   float64 // part of freed labour that is really not paid for any more, 0 to 1
}

// Case is what a machine comes to in a year.
type Case struct {
	Batches float64
	Good    float64
	// Freed is hours by work centre that are not needed there any more, Taken
	// those that the machine takes.
	Freed map[traveler.WorkCentre]float64
	Taken float64
	// Cash is money that is not paid any more in a year: material in scrap,
	// handling, outside operations, and labour as far as Worth.Labour says.
	Cash float64
	// HoursValue is what the freed hours are worth, shown apart: it is money
	// only as far as Worth.Replaced says.
	HoursValue float64
	Invest     float64 // the machine, and what the routes then cost once
	Payback    float64 // years by cash and hours together; +Inf = never
	PaybackNo  float64 // years by cash alone
	Load       float64 // part of the machine's open time that it is busy
	QueueMin   float64 // mean wait before it, minutes, by utilisation; +Inf = it never catches up
	Fits       bool    // Load is under 1
	// A week down: hours of work that pile up, and weeks until they are worked
	// off with what is left of its time; +Inf = never.
	Backlog float64
	Recover float64
}

// CaseOf works a case out, with the demand multiplied by a factor.
func CaseOf(m *Machine, members []Member, c *Costs, w *Worth, factor float64) Case {
	out := Case{Freed: map[traveler.WorkCentre]float64{}, Invest: m.Price + m.OneOff}
	var minutes, squares float64 // of a batch on the machine
	for i := range members {
		p := &members[i]
		now, then := p.Now.Of(p.Size, c), p.Then.Of(p.Size, c)
		if now.Good <= 0 || then.Good <= 0 {
			continue
		}
		out.Invest += p.Then.OneOff
		demand := p.Demand * factor
		nowN, thenN := demand/now.Good, demand/then.Good
		out.Batches += thenN
		out.Good += demand
		for wc, x := range now.Centre {
			out.Freed[wc] += nowN * x / 60
		}
		for wc, x := range then.Centre {
			out.Freed[wc] -= thenN * x / 60
		}
		on := then.Centre[m.WorkCentre]
		out.Taken += thenN * on / 60
		minutes, squares = minutes+thenN*on, squares+thenN*on*on
		out.Cash += nowN*(now.Material+now.Handling+now.Outside) - thenN*(then.Material+then.Handling+
			then.Outside)
		out.Cash += (nowN*now.Labour - thenN*then.Labour) * w.Labour
	}
	for wc, h := range out.Freed {
		if wc != m.WorkCentre && h > 0 {
			out.HoursValue += h * w.Replaced * w.Hour
		}
	}
	out.payback()
	out.queue(m, minutes, squares)
	return out
}

func (c *Case) payback() {
	years := func(a float64) float64 {
		if a <= 0 {
			return math.Inf(1)
		}
		return c.Invest / a
	}
	c.Payback, c.PaybackNo = years(c.Cash+c.HoursValue), years(c.Cash)
}

// queue is what happens before the machine when all of it lands there: the
// approximation of Kingman (Hopp and Spearman, Factory Physics, 3rd ed., ch. 8)
// with arrivals as random as they can be, and batches as unlike as they are.
func (c *Case) queue(m *Machine, minutes, squares float64) {
	open := m.OpenWeek * m.Weeks
	if open <= 0 || c.Batches <= 0 {
		return
	}
	c.Load = m.Busy + c.Taken/open
	te := minutes / c.Batches
	ce2 := math.Max(0, squares/c.Batches/(te*te)-1)
	c.Fits = c.Load < 1
	c.QueueMin = QueueTime(1, ce2, c.Load, te, 1)
	c.Backlog = m.OpenWeek * c.Load
	if spare := m.OpenWeek * (1 - c.Load); spare > 0 {
		c.Recover = c.Backlog / spare
	} else {
		c.Recover = math.Inf(1)
	}
}

// QueueTime is the mean time in queue before m machines, in the unit of te: by
// the squared coefficients of variation of arrivals and of effective process
// times, and the utilisation (Hopp and Spearman, Factory Physics, 3rd ed., eq.
// 8.24 and 8.27). +Inf from a utilisation of 1 on.
func QueueTime(ca2, ce2, u, te float64, m int) float64 {
	if u >= 1 {
		return math.Inf(1)
	}
	k := float64(m)
	return (ca2 + ce2) / 2 * math.Pow(u, math.Sqrt(2*(k+1))-1) / (k * (1 - u)) * te
}

// WithSetUps is the effective process time of a piece, and its squared
// coefficient of variation, at a machine that is set once in so many pieces
// (Hopp and Spearman, Factory Physics, 3rd ed., eq. 8.11-8.13): t0 and c0 of the
// process, ts and cs of the set-up.
func WithSetUps(t0, c0, ts, cs, pieces float64) (te, ce2 float64) {
	te = t0 + ts/pieces
	variance := c0*c0*t0*t0 + cs*cs*ts*ts/pieces + (pieces-1)/(pieces*pieces)*ts*ts
	return te, variance / (te * te)
}

// SmallestStable is the smallest number of pieces in a batch with which a
// machine that is set for ts keeps up with pieces that arrive at a rate ra and
// take t0 each; ok is false when none does.
func SmallestStable(t0, ts, ra float64) (pieces int, ok bool) {
	if ra*t0 >= 1 {
		return 0, false
	}
	return int(math.Floor(ts*ra/(1-ra*t0))) + 1, true
}
