package kiosk

import (
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
	NeedReady   Need = "ready"
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
func (l *look) here(s *Step) {
	if o := l.op(); o != nil {
		s.Operation = o.Number
	}
	if l.v != nil {
		s.Visit = l.v.ID
		if l.v.ReworkFor != 0 {
			s.For = l.v.ReworkFor.String()
		}
	}
}

// good is what was counted as good at the visit that is open here.
func (l *look) good() int {
	if l.v != nil {
		return l.v.Good
	}
	if len(l.ts) == 0 {
		return 0
	}
	return l.ts[max(l.k, 0)].Good
}
