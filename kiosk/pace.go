package kiosk

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
)

// Limits are the numbers of the table: from when on another step is the likely one.
// They were chosen over a year of the demo's scans (TestLikelyStep of the program):
// common practice, no source.
type Limits struct {
	// A set-up that is planned for less is not worth a scan of its own.
	SetupMin float64 `json:"setup_min"`
	// The share of the run of what is left after which that is most likely made: where
	// nothing was counted since the run began, and between two counts.
	First float64 `json:"first"`
	Again float64 `json:"again"`
	// So long before the shift ends people stop their machines, and so long after a
	// count they do not count again before that.
	LeaveS float64 `json:"leave_s"`
	RestS  float64 `json:"rest_s"`
}

var limits = Limits{SetupMin: 5, First: 0.85, Again: 0.97, LeaveS: 6 * 60, RestS: 10 * 60}

// night is how long a machine is closed where a shift has ended: less is a break.
const night = 2 * time.Hour

// pace is how a run has gone so far, in the open time of its machine.
type pace struct {
	ran       time.Duration // in stretches that are over
	counted   time.Duration // of the whole run, up to the last count
	made      int           // pieces counted, but for those made while setting
	countedAt time.Time     // zero: nothing was counted
	since     time.Time     // the run goes on since; zero: it does not
	set       bool          // it was set up, and has not run yet
	hours     *calendar.Hours
}

// paceOf is the pace of a visit.
func paceOf(shop *traveler.Shop, f *story.Family, visit int, now time.Time) pace {
	v := &f.Visits[visit]
	p := pace{made: v.Good + v.Scrap + v.Rework + v.Review + v.Missing - v.SetupPieces,
		countedAt: lastCount(f, visit)}
	if !shop.Unattended(v.Machine, now) {
		p.hours = shop.Hours(v.Machine, now)
	}
	run := false
	for _, s := range f.SpansOf(visit) {
		switch s.Kind {
		case story.SpanSetup:
			p.set = true
		case story.SpanRun:
			run = true
			if s.To.IsZero() {
				p.since = s.From
			} else {
				p.ran += p.hours.Open(s.From, s.To)
			}
			p.counted += p.hours.Open(s.From, earliest(s.To, p.countedAt))
		}
	}
	p.set = p.set && !run
	return p
}

// earliest is the end of what was run before a moment; a zero end is open.
func earliest(end, moment time.Time) time.Time {
	if end.IsZero() || moment.Before(end) {
		return moment
	}
	return end
}

func lastCount(f *story.Family, visit int) time.Time {
	for _, line := range f.Lines.Backward() {
		if line.Visit == visit && line.Fate == story.FateStands &&
			line.Entry.Scan.Action == traveler.ActCount {
			return line.At
		}
	}
	return time.Time{}
}

// nearly is when what is left will most likely be made, at the pace of the visit so
// far and at least at half the planned time; zero where nothing is planned, or the
// machine does not run. The page reckons the same (kiosk/page/pace.js).
func (p *pace) nearly(left int, planned float64) time.Time {
	if p.since.IsZero() || planned <= 0 {
		return time.Time{}
	}
	one, share := planned*60, limits.First // seconds a piece
	if !p.countedAt.IsZero() {
		share = limits.Again
		if p.made > 0 && p.counted > 0 {
			one = max(one/2, p.counted.Seconds()/float64(p.made))
		}
	}
	need := share*one*float64(left) + p.counted.Seconds() - p.ran.Seconds()
	at, ok := p.hours.After(p.since, time.Duration(need*float64(time.Second)))
	if !ok {
		return time.Time{}
	}
	return at.Truncate(time.Millisecond)
}

// quits is when the shift at a machine ends, if it goes on now and nobody follows;
// zero where the machine may run alone.
func (p *pace) quits(now time.Time) time.Time {
	end, ok := p.hours.End(now)
	if !ok || p.hours == nil {
		return time.Time{}
	}
	next, ok := p.hours.Next(end.Add(time.Second))
	if ok && next.Sub(end) < night {
		return time.Time{}
	}
	return end
}

// leaves reports whether people most likely stop the machine now, for the shift ends.
func (p *pace) leaves(now time.Time) bool {
	end := p.quits(now)
	if end.IsZero() || end.Sub(now).Seconds() > limits.LeaveS {
		return false
	}
	return p.countedAt.IsZero() || now.Sub(p.countedAt).Seconds() < limits.RestS
}
