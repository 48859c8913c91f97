package traveler

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// UndoTime is how long the one who made a scan may take it back.
const UndoTime = 2 * time.Minute

// The beginnings of the names of questions about one scan: one that does not
// fit, and one that was made anyway.
const (
	scanQuestion     = "scan:"
	anywayQuestionOf = "anyway:"
)

// isControl reports whether a scan is about another scan.
func isControl(s *Scan) bool {
	switch s.Action {
	case ActUndo, ActCorrect:
		return true
	case ActDecide:
		return strings.HasPrefix(s.For, scanQuestion) || (s.Reason == ChoiceDrop && strings.HasPrefix(s.For, anywayQuestionOf))
	}
	return false
}

// ControlTarget is the id of the scan that a control is about: an undo, a
// correction, or a decision to count or to drop a scan. It is empty for all
// other scans.
func ControlTarget(s *Scan) ScanID {
	switch s.Action {
	case ActUndo, ActCorrect:
		return ScanID(s.For)
	case ActDecide:
		if id, ok := strings.CutPrefix(s.For, scanQuestion); ok {
			return ScanID(id)
		}
		if id, ok := strings.CutPrefix(s.For, anywayQuestionOf); ok && s.Reason == ChoiceDrop {
			return ScanID(id)
		}
	}
	return ""
}

// applyControls reads undo, correction and decision from the last to the first,
// so that one that is itself taken back has no effect.
func applyControls(events []event) {
	byID := make(map[ScanID]int, len(events))
	for i := range events {
		byID[events[i].e.Scan.ID] = i
	}
	for i := len(events) - 1; i >= 0; i-- {
		ev := &events[i]
		if !isControl(ev.s) || ev.fate != "" {
			continue
		}
		t, ok := byID[ControlTarget(ev.s)]
		if !ok || t == i {
			continue
		}
		ev.aimed = true
		control(events, ev, t, i)
	}
	for i := range events {
		events[i].applyFixes()
	}
}

// applyFixes tells a scan as its corrections have it, the first one first, so
// that a later one leaves standing what it does not name.
func (ev *event) applyFixes() {
	if len(ev.fixes) == 0 || ev.fate != "" {
		return
	}
	ev.by = ev.fixes[0].e.Scan.ID
	for _, c := range slices.Backward(ev.fixes) {
		ev.fix(c)
	}
	ev.fixes = nil
}

// control lets one control scan act on its target. A target that is a control
// itself and stands later was read already: it cannot be changed any more.
func control(events []event, ev *event, t, self int) {
	target := &events[t]
	if isControl(target.s) && t > self {
		ev.aimed = false
		return
	}
	ev.denied = controlMisfit(ev, target)
	if ev.denied == nil && t < self && withInspector(events[t:self]) && !May(ev.e.By.Role, DeedVerdict) {
		ev.denied = &misfit{msg: Msg{Key: "undo.verdict"}}
	}
	if ev.denied != nil && !ev.force {
		return
	}
	switch ev.s.Action {
	case ActUndo:
		if target.fate == "" {
			target.fate, target.by = FateUndone, ev.e.Scan.ID
		}
	case ActDecide:
		decideScan(ev, target)
	case ActCorrect:
		if target.s.Action == ActCorrect {
			// The newer correction speaks in place of the older one.
			target.fate, target.by = FateCorrected, ev.e.Scan.ID
			inner := ScanID(target.s.For)
			for i := range events {
				if events[i].e.Scan.ID == inner && i < self {
					correct(&events[i], ev)
				}
			}
			return
		}
		correct(target, ev)
	}
}

func decideScan(ev, target *event) {
	if target.by != "" {
		return
	}
	target.by = ev.e.Scan.ID
	if ev.s.Reason == ChoiceDrop {
		target.fate = FateDropped
		return
	}
	target.force = true
}

// correct notes that a correction speaks about a scan.
func correct(target, ev *event) {
	if target.fate == "" && !isControl(target.s) {
		target.fixes = append(target.fixes, ev)
	}
}

// fix lets a scan be told as a correction has it.
func (ev *event) fix(by *event) {
	c, s := by.s, *ev.s
	ev.card, s.Card = by.card, c.Card
	if by.machine != "" {
		ev.machine, s.Station = by.machine, c.Station
	}
	if c.Operation != 0 {
		s.Operation = c.Operation
	}
	if c.HasCounts() || c.Reads != nil {
		s.Good, s.Scrap, s.Rework, s.Review, s.Missing, s.Reads = c.Good, c.Scrap, c.Rework, c.Review, c.Missing, c.Reads
	}
	if c.Pieces != 0 {
		s.Pieces = c.Pieces
	}
	s.Phase = cmp.Or(c.Phase, s.Phase)
	s.Reason = cmp.Or(c.Reason, s.Reason)
	s.To = cmp.Or(c.To, s.To)
	s.Visit = c.Visit
	ev.s = &s
	if c.Happened != nil {
		ev.happened = c.Happened
	}
}

// controlMisfit says why a control may not act on its target.
func controlMisfit(ev, target *event) *misfit {
	if ev.e.By.Role == "" {
		return &misfit{msg: Msg{Key: "person.unknown", Args: []string{string(ev.s.Operator)}}}
	}
	if May(ev.e.By.Role, DeedSettle) {
		if ev.s.Action == ActDecide && ev.s.Reason != ChoiceAdd && ev.s.Reason != ChoiceDrop {
			return no("decide.choice", ev.s.Reason)
		}
		return nil
	}
	if ev.s.Action != ActUndo || !May(ev.e.By.Role, DeedScan) {
		return roleMisfit(ev)
	}
	if ev.rules >= rulesUndo && !May(ev.e.By.Role, DeedOf(target.s)) {
		return roleMisfit(ev) // a number that was typed is not the badge of the one who said it
	}
	same := target.e.By.Name == ev.e.By.Name && target.s.Operator == ev.s.Operator
	if !ev.e.Scan.IsPresent() {
		same = same && ev.e.Scan.Device != "" && ev.e.Scan.Device == target.e.Scan.Device
	}
	if same && near(ev.at, target.at) && (!ev.e.Scan.IsPresent() || near(ev.e.Arrived, target.e.Arrived)) {
		return nil
	}
	return &misfit{msg: Msg{Key: "undo.late"}}
}

// withInspector reports whether the first of some events submits a first-off
// that one of the others decides on: then it is not the submitter's any more.
func withInspector(events []event) bool {
	first := &events[0]
	if first.rules < rulesUndo || first.s.Action != ActFirstOff || first.s.HasCounts() {
		return false
	}
	for i := range events[1:] {
		if ev := &events[1+i]; ev.card == first.card && ev.isVerdict() && ev.fate == "" {
			return true
		}
	}
	return false
}

// isVerdict reports whether an event decides on a first-off.
func (ev *event) isVerdict() bool { return ev.s.Action == ActFirstOff && ev.s.HasCounts() }

func near(a, b time.Time) bool { return a.Sub(b).Abs() <= UndoTime }

func roleMisfit(ev *event) *misfit {
	return &misfit{msg: Msg{Key: "role", Args: []string{string(ev.e.By.Role), string(ev.s.Action)}}}
}
