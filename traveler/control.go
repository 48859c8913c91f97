package traveler

import (
	"strings"
	"time"
)

// UndoTime is how long the one who made a scan may take it back.
const UndoTime = 2 * time.Minute

// scanQuestion is the beginning of the name of a question about one scan.
const scanQuestion = "scan:"

// isControl reports whether a scan is about another scan.
func isControl(s *Scan) bool {
	switch s.Action {
	case ActUndo, ActCorrect:
		return true
	case ActDecide:
		return strings.HasPrefix(s.For, scanQuestion)
	}
	return false
}

// controlTarget is the scan that a control is about.
func controlTarget(s *Scan) ScanID {
	return ScanID(strings.TrimPrefix(s.For, scanQuestion))
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
		t, ok := byID[controlTarget(ev.s)]
		if !ok || t == i {
			continue
		}
		ev.aimed = true
		control(events, ev, t, i)
	}
}

// control lets one control scan act on its target. A target that is a control
// itself and stands later was read already: it cannot be changed any more.
func control(events []event, ev *event, t, self int) {
	target := &events[t]
	if isControl(target.s) && t > self {
		ev.aimed = false
		return
	}
	if ev.denied = controlMisfit(ev, target); ev.denied != nil && !ev.force {
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
	if ev.s.Reason == "drop" {
		target.fate = FateDropped
		return
	}
	target.force = true
}

// correct lets the target be told as the correction has it. The last
// correction speaks; earlier ones find it taken.
func correct(target, ev *event) {
	if target.fate != "" || target.by != "" || isControl(target.s) {
		return
	}
	c := ev.s
	s := *target.s
	target.card, s.Card = ev.card, c.Card
	if ev.machine != "" {
		target.machine, s.Station = ev.machine, c.Station
	}
	if c.Operation != 0 {
		s.Operation = c.Operation
	}
	if c.HasCounts() {
		s.Good, s.Scrap, s.Rework, s.Review, s.Missing = c.Good, c.Scrap, c.Rework, c.Review, c.Missing
	}
	if c.Pieces != 0 {
		s.Pieces = c.Pieces
	}
	if c.Reason != "" {
		s.Reason = c.Reason
	}
	if c.To != "" {
		s.To = c.To
	}
	s.Visit = c.Visit
	target.s, target.by = &s, ev.e.Scan.ID
	if c.Happened != nil {
		target.happened = c.Happened
	}
}

// controlMisfit says why a control may not act on its target.
func controlMisfit(ev, target *event) *misfit {
	if ev.e.By.Role == "" {
		return &misfit{msg: Msg{Key: "person.unknown", Args: []string{string(ev.s.Operator)}}}
	}
	if May(ev.e.By.Role, DeedSettle) {
		return nil
	}
	if ev.s.Action != ActUndo {
		return roleMisfit(ev)
	}
	if !May(ev.e.By.Role, DeedScan) {
		return roleMisfit(ev)
	}
	same := target.e.By.Name == ev.e.By.Name && target.s.Operator == ev.s.Operator
	if gap := ev.at.Sub(target.at); same && gap <= UndoTime && gap >= -UndoTime {
		return nil
	}
	return &misfit{msg: Msg{Key: "undo.late"}}
}

func roleMisfit(ev *event) *misfit {
	return &misfit{msg: Msg{Key: "role", Args: []string{string(ev.e.By.Role), string(ev.s.Action)}}}
}
