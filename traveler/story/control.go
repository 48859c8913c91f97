package story

import (
	"cmp"
	"slices"
	"strings"
	"tallywalk/traveler"
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
func isControl(s *traveler.Scan) bool {
	switch s.Action {
	case traveler.ActUndo, traveler.ActCorrect:
		return true
	case traveler.ActDecide:
		return strings.HasPrefix(s.For, scanQuestion) ||
			(s.Reason == ChoiceDrop && strings.HasPrefix(s.For, anywayQuestionOf))
	}
	return false
}

// ControlTarget is the id of the scan that a control is about: an undo, a
// correction, or a decision to count or to drop a scan. It is empty for all
// other scans.
func ControlTarget(s *traveler.Scan) traveler.ScanID {
	switch s.Action {
	case traveler.ActUndo, traveler.ActCorrect:
		return traveler.ScanID(s.For)
	case traveler.ActDecide:
		if id, ok := strings.CutPrefix(s.For, scanQuestion); ok {
			return traveler.ScanID(id)
		}
		if id, ok := strings.CutPrefix(s.For, anywayQuestionOf); ok && s.Reason == ChoiceDrop {
			return traveler.ScanID(id)
		}
	}
	return ""
}

// applyControls reads undo, correction and decision from the last to the first,
// so that one that is itself taken back has no effect.
func applyControls(events []event) {
	byID := make(map[traveler.ScanID]int, len(events))
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

// applyFixes gives a scan the form that its corrections have it, the first one first, so
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
	if ev.denied == nil && t < self && withInspector(events[t:self]) &&
		!traveler.May(ev.e.By.Role, traveler.DeedVerdict) {
		ev.denied = &misfit{msg: traveler.Msg{Key: "undo.verdict"}}
	}
	if ev.denied != nil && !ev.force {
		return
	}
	switch ev.s.Action {
	case traveler.ActUndo:
		if target.fate == "" {
			target.fate, target.by = FateUndone, ev.e.Scan.ID
		}
	case traveler.ActDecide:
		decideScan(ev, target)
	case traveler.ActCorrect:
		if target.s.Action == traveler.ActCorrect {
			// The newer correction speaks in place of the older one.
			target.fate, target.by = FateCorrected, ev.e.Scan.ID
			inner := traveler.ScanID(target.s.For)
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

// fix gives a scan the form that a correction says.
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
		s.Good, s.Scrap, s.Rework = c.Good, c.Scrap, c.Rework
		s.Review, s.Missing, s.Reads = c.Review, c.Missing, c.Reads
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
		return &misfit{msg: traveler.Msg{Key: "person.unknown", Args: []string{string(ev.s.Operator)}}}
	}
	if traveler.May(ev.e.By.Role, traveler.DeedSettle) {
		if ev.s.Action == traveler.ActDecide && ev.s.Reason != ChoiceAdd && ev.s.Reason != ChoiceDrop {
			return no("decide.choice", ev.s.Reason)
		}
		return nil
	}
	if ev.s.Action != traveler.ActUndo || !traveler.May(ev.e.By.Role, traveler.DeedScan) {
		return roleMisfit(ev, traveler.DeedSettle)
	}
	if deed := traveler.DeedOf(target.s); ev.rules >= rulesUndo && !traveler.May(ev.e.By.Role, deed) {
		return roleMisfit(ev, deed) // a number that was typed is not the badge of the one who said it
	}
	same := target.e.By.Name == ev.e.By.Name && target.s.Operator == ev.s.Operator
	if !ev.e.Scan.IsPresent() {
		same = same && ev.e.Scan.Device != "" && ev.e.Scan.Device == target.e.Scan.Device
	}
	if same && near(ev.at, target.at) && (!ev.e.Scan.IsPresent() || near(ev.e.Arrived, target.e.Arrived)) {
		return nil
	}
	return &misfit{msg: traveler.Msg{Key: "undo.late"}}
}

// withInspector reports whether the first of some events submits a first-off
// that one of the others decides on: then it is not the submitter's any more.
func withInspector(events []event) bool {
	first := &events[0]
	if first.rules < rulesUndo || first.s.Action != traveler.ActFirstOff || first.s.HasCounts() {
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
func (ev *event) isVerdict() bool { return ev.s.Action == traveler.ActFirstOff && ev.s.HasCounts() }

func near(a, b time.Time) bool { return a.Sub(b).Abs() <= UndoTime }

// roleMisfit refuses a deed to a role, and says who may do it.
func roleMisfit(ev *event, deed traveler.Deed) *misfit {
	return &misfit{msg: traveler.Msg{Key: RoleKey(deed),
		Args: []string{string(ev.e.By.Role), string(ev.s.Action)}}}
}

// RoleKey names the sentence that refuses a deed to a role, and says who may do it.
func RoleKey(deed traveler.Deed) string {
	switch deed {
	case traveler.DeedSettle:
		return "role.settle"
	case traveler.DeedRelease:
		return "role.release"
	}
	return "role"
}
