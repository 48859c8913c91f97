package kiosk

import (
	"strconv"

	"tallywalk/traveler"
)

// Need is what a step asks for before it can be sent.
type Need string

// What a step can ask for.
const (
	NeedNothing Need = ""
	NeedCounts  Need = "counts"
	NeedStop    Need = "reason:stop"
	NeedWait    Need = "reason:wait"
	NeedHold    Need = "reason:hold"
	NeedPlace   Need = "place"
	NeedPieces  Need = "pieces"
	NeedSibling Need = "sibling"
	NeedVerdict Need = "verdict"
)

// Step is something that can be said of a batch at a machine: a scan but for
// what Needs asks for. Key names the word in the catalogue, Word says it in
// English.
type Step struct {
	Action     traveler.Action     `json:"action"`
	Code       traveler.Code       `json:"code"` // on an action sheet
	Key        string              `json:"key"`
	Args       []string            `json:"args,omitempty"`
	Word       string              `json:"word"`
	Likely     bool                `json:"likely"`
	Needs      Need                `json:"needs"`
	Operation  traveler.Op         `json:"operation,omitempty"`
	Visit      traveler.ScanID     `json:"visit,omitempty"`
	Phase      string              `json:"phase,omitempty"`
	For        string              `json:"for,omitempty"`
	Reason     string              `json:"reason,omitempty"`
	To         traveler.MachineID  `json:"to,omitempty"`
	WorkCentre traveler.WorkCentre `json:"work_centre,omitempty"` // of a place to choose
	Pieces     int                 `json:"pieces,omitempty"`      // to begin with, where pieces are asked for
}

func step(a traveler.Action, needs Need, key string, args ...string) Step {
	return Step{Action: a, Code: ActionCode(a), Key: key, Args: args, Word: word(key, args...), Needs: needs}
}

// here aims a step at the operation and the open visit of this machine.
func (l *look) here(s Step) Step {
	if o := l.op(); o != nil {
		s.Operation = o.Number
	}
	if l.v != nil {
		s.Visit = l.v.ID
		if l.v.ReworkFor != 0 {
			s.For = l.v.ReworkFor.String()
		}
	}
	return s
}

// afresh aims a step at the operation meant here, but begins a new visit.
func (l *look) afresh(s Step) Step {
	s = l.here(s)
	s.Visit = ""
	return s
}

func (l *look) finish() Step {
	if l.left == 0 {
		return l.here(step(traveler.ActFinish, NeedNothing, "finish.all", strconv.Itoa(l.good())))
	}
	return l.here(step(traveler.ActFinish, NeedCounts, "finish"))
}

// good is what was counted as good at the visit that is open here.
func (l *look) good() int {
	if l.v == nil {
		return l.ts[max(l.k, 0)].Good
	}
	return l.v.Good
}

func (l *look) count() Step {
	return l.here(step(traveler.ActCount, NeedCounts, "count"))
}

func (l *look) run() Step {
	return l.here(step(traveler.ActRun, NeedNothing, "run"))
}

func (l *look) runOn() Step {
	return l.here(step(traveler.ActRun, NeedNothing, "run.on"))
}

func (l *look) setup() Step {
	return l.here(step(traveler.ActSetup, NeedNothing, "setup"))
}

func (l *look) setupAgain() Step {
	return l.here(step(traveler.ActSetup, NeedNothing, "setup.again"))
}

func (l *look) stop() Step {
	return l.here(step(traveler.ActStop, NeedStop, "stop"))
}

func (l *look) wait() Step {
	return l.here(step(traveler.ActStop, NeedWait, "wait"))
}

func (l *look) firstOff() Step {
	return l.here(step(traveler.ActFirstOff, NeedNothing, "firstoff"))
}

// verdict is on the first piece of a visit, which may be at another machine.
func (l *look) verdict(visit int) Step {
	v := &l.f.Visits[visit]
	s := step(traveler.ActFirstOff, NeedVerdict, "verdict")
	s.Operation, s.Visit = v.Operation, v.ID
	return s
}

func carryTo(name string, to traveler.MachineID, wc traveler.WorkCentre) Step {
	needs := NeedPlace
	if to != "" {
		needs = NeedNothing
	}
	s := step(traveler.ActMove, needs, "move.to", name)
	s.To, s.WorkCentre = to, wc
	return s
}
