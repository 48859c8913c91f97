package kiosk

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// may reports whether the one who asks may say a step.
func (l *look) may(s *formed) bool { return traveler.May(l.role, s.form.Deed) }

// scan is the scan that a step would be, as far as its deed goes.
func (s *Step) scan() *traveler.Scan {
	out := &traveler.Scan{Action: s.Action, For: s.For, Reason: s.Reason}
	if s.Needs == NeedVerdict {
		one := 1
		out.Good = &one
	}
	return out
}

// refusal is the refusal of a first-off that stands for the operation meant here, at
// whatever machine it was said: none passed since, and nobody who may let it run did.
func (l *look) refusal() *story.Verdict {
	o := l.op()
	if o == nil || l.v != nil && l.v.ReworkFor != 0 {
		return nil
	}
	return l.f.Rejection(l.batch, o.Number, l.machine.ID)
}

// isForInspector reports whether the next step is one that only an inspector can
// say, while the one who asks is none: then nothing else is likely.
func (l *look) isForInspector(next *formed) bool {
	return (next.Needs == NeedVerdict || next.Action == traveler.ActDecide) && !l.may(next)
}

// others says of the steps that the one who asks may not say for whom they wait,
// unless the view itself says so.
func (l *look) others(steps []formed) []Notice {
	var out []Notice
	for i := range steps {
		s := &steps[i]
		key := s.form.Who
		if l.may(s) || key == "" || (s.form.Aim == aimVerdict && s.Visit == l.visitID()) {
			continue
		}
		if !slices.ContainsFunc(out, func(n Notice) bool { return n.Key == key }) {
			out = append(out, Notice{key, []string{s.Operation.String()}, word(key, s.Operation.String())})
		}
	}
	return out
}

func (l *look) visitID() traveler.ScanID {
	if l.v == nil {
		return ""
	}
	return l.v.ID
}

// verdictOn says by whom, when and why the first-off was refused.
func (l *look) verdictOn(f *FirstOff) {
	if v := l.refusal(); v != nil {
		at := v.At
		f.At, f.By, f.Kind, f.Reason = &at, v.By, v.Kind, v.Reason
	}
}
