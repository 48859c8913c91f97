package board

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// WaitReason is one thing that a batch waits for. Key says which, and so what it is filled
// in with; pages make a sentence of it in their language.
type WaitReason struct {
	Key        string              `json:"key"`
	Text       string              `json:"text,omitempty"`        // a reason that someone gave, as the shop's code
	Place      int                 `json:"place,omitempty"`       // in line; 0 = further back than LineShown
	WorkCentre traveler.WorkCentre `json:"work_centre,omitempty"` // of the line
	Machine    traveler.MachineID  `json:"machine,omitempty"`
	At         time.Time           `json:"at,omitzero"`
	Operation  traveler.Op         `json:"operation,omitempty"`
	LetGo      int                 `json:"let_go,omitempty"`
	LetOf      int                 `json:"let_of,omitempty"`
}

// The keys of reasons.
const (
	whySaid     = "said"     // Text, as someone said
	whyMissing  = "missing"  // Text: the thing that someone said is missing
	whyHeld     = "held"     // Text
	whyDecide   = "decide"   // an inspector's decision about pieces set aside
	whyFirstOff = "firstoff" // the verdict on its first-off
	whyPassed   = "passed"   // its first-off passed, nobody started the run
	whyStopped  = "stopped"  // Text: its machine stands still
	whyOut      = "out"      // outside, until about At where that is known
	whyOutOver  = "out.over" // outside, expected back at At
	whyBefore   = "before"   // Operation has let LetGo of LetOf go
	whyNoPlace  = "noplace"  // WorkCentre has no machine
	whySend     = "send"     // can be sent out now
	whyFree     = "free"     // nothing stands in its way: Machine is idle and open
	whyLine     = "line"     // Place in line for WorkCentre, or for its only Machine
	whyOpens    = "opens"    // WorkCentre opens At
	whyClosed   = "closed"   // WorkCentre is closed, nobody can say until when
	whyIdle     = "idle"     // Machine is idle, for those before it
	whyBusy     = "busy"     // Machine is busy until about At
	whyLonger   = "longer"   // what Machine is at takes longer than expected
	whyAtWork   = "atwork"   // Machine is at work that has no planned time
	whyAtFirst  = "atfirst"  // what is at Machine waits for its first-off
	whyDown     = "down"     // Machine stands still, Text
)

// Why says why a row waits, at a moment: what someone said first, or is missing, then what can be
// worked out of its line. line is that of its work centre; nil = there is none.
// A machine that works gives none for its batch.
func Why(r *Row, line *WaitLine, now time.Time) []WaitReason {
	if r.Kind == "work" {
		return whyAtMachine(r, now)
	}
	if r.State == "held" {
		return []WaitReason{{Key: whyHeld, Text: r.Reason}}
	}
	var out []WaitReason
	if r.Reason != "" {
		out = append(out, WaitReason{Key: whySaid, Text: r.Reason})
	}
	for _, thing := range r.NotReady.List() {
		out = append(out, WaitReason{Key: whyMissing, Text: thing})
	}
	if r.State == string(story.WaitReview) {
		return append(out, WaitReason{Key: whyDecide})
	}
	if r.LetOf > 0 {
		out = append(out, WaitReason{Key: whyBefore, Operation: r.Before, LetGo: r.LetGo, LetOf: r.LetOf})
	}
	if line == nil || len(line.Machines) == 0 {
		return append(out, WaitReason{Key: whyNoPlace, WorkCentre: r.WorkCentre})
	}
	return append(out, line.why(r, now)...)
}

// whyAtMachine says what a batch at a machine waits for, if it does.
func whyAtMachine(r *Row, now time.Time) []WaitReason {
	switch story.VisitState(r.State) {
	case story.VisitOutside:
		if back := r.OverFrom; !back.IsZero() && !now.Before(back) {
			return []WaitReason{{Key: whyOutOver, At: back}}
		}
		return []WaitReason{{Key: whyOut, At: r.OverFrom}}
	case story.VisitFirstOff:
		return []WaitReason{{Key: whyFirstOff}}
	case story.VisitReady:
		return []WaitReason{{Key: whyPassed}}
	case story.VisitStopped:
		return []WaitReason{{Key: whyStopped, Text: r.Reason}}
	}
	return nil
}

// why says what a row in line waits for.
func (l *WaitLine) why(r *Row, now time.Time) []WaitReason {
	var open []*AtMachine
	for i := range l.Machines {
		if m := &l.Machines[i]; !m.closedAt(now) {
			open = append(open, m)
		}
	}
	place := slices.Index(l.Order, r.Key) + 1
	var idle []*AtMachine
	for _, m := range open {
		switch {
		case m.Outside:
			return []WaitReason{{Key: whySend, Machine: m.Machine}}
		case m.State == StateFree:
			idle = append(idle, m)
		}
	}
	in := WaitReason{Key: whyLine, Place: place, WorkCentre: l.WorkCentre}
	if len(l.Machines) == 1 {
		in.Machine = l.Machines[0].Machine
	}
	switch {
	case place > 0 && place <= len(idle) && r.Reason == "" && r.NotReady == "":
		return []WaitReason{{Key: whyFree, Machine: idleFor(r, idle, place)}}
	case place > 0 && place <= len(idle): // what someone said, or what is missing, stands in its way
		return []WaitReason{in, {Key: whyIdle, Machine: idleFor(r, idle, place)}}
	case len(open) == 0:
		return []WaitReason{in, l.opens()}
	case len(idle) > 0:
		return []WaitReason{in, {Key: whyIdle, Machine: idle[0].Machine}}
	}
	return []WaitReason{in, freeFirst(open, now)}
}

// idleFor is the idle machine that a row may take: where it stands, if that is one.
func idleFor(r *Row, idle []*AtMachine, place int) traveler.MachineID {
	for _, m := range idle {
		if m.Machine == r.Machine {
			return m.Machine
		}
	}
	return idle[place-1].Machine
}

// opens says when the first machine of a closed work centre opens.
func (l *WaitLine) opens() WaitReason {
	out := WaitReason{Key: whyClosed, WorkCentre: l.WorkCentre}
	for i := range l.Machines {
		if at := l.Machines[i].Opens; !at.IsZero() && (out.At.IsZero() || at.Before(out.At)) {
			out.Key, out.At = whyOpens, at
		}
	}
	return out
}

// ranks of what a busy machine is at: the lowest is taken first.
const (
	rankBusy = iota
	rankLonger
	rankAtWork
	rankAtFirst
	rankDown
)

// atWork is what a busy machine is at.
func (m *AtMachine) atWork(now time.Time) (WaitReason, int) {
	switch {
	case m.State == string(story.VisitStopped):
		return WaitReason{Key: whyDown, Machine: m.Machine, Text: m.Reason}, rankDown
	case m.State == string(story.VisitFirstOff):
		return WaitReason{Key: whyAtFirst, Machine: m.Machine}, rankAtFirst
	case m.Until.IsZero():
		return WaitReason{Key: whyAtWork, Machine: m.Machine}, rankAtWork
	case !now.Before(m.Until), !m.SetUntil.IsZero() && !now.Before(m.SetUntil):
		return WaitReason{Key: whyLonger, Machine: m.Machine}, rankLonger
	}
	return WaitReason{Key: whyBusy, Machine: m.Machine, At: m.Until}, rankBusy
}

// freeFirst is what the machine is at that is expected to be free first.
func freeFirst(open []*AtMachine, now time.Time) WaitReason {
	best, rank := open[0].atWork(now)
	for _, m := range open[1:] {
		r, k := m.atWork(now)
		if k < rank || k == rank && k == rankBusy && r.At.Before(best.At) {
			best, rank = r, k
		}
	}
	return best
}
