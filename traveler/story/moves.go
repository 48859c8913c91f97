package story

import (
	"slices"

	"tallywalk/traveler"
)

// Move says what a scan makes of a visit: of those in Moves the first one that fits.
type Move struct {
	Action traveler.Action `json:"action"`
	// Pieces says of which kind the scan must be: none without counts, good and bad
	// a verdict on a first-off, made with pieces that were run, back with all pieces
	// back from outside; empty is any.
	Pieces   string       `json:"pieces,omitempty"`
	From     []VisitState `json:"from,omitempty"` // empty is any
	To       VisitState   `json:"to,omitempty"`   // empty is as it was
	FirstOff string       `json:"first_off,omitempty"`
}

// The kinds of scan that Move distinguishes.
const (
	pieceNone = "none"
	pieceGood = "good"
	pieceBad  = "bad"
	pieceMade = "made"
	pieceBack = "back"
)

// The states of a first-off.
const (
	FirstWaiting  = "waiting"
	FirstAccepted = "accepted"
	FirstRefused  = "refused"
)

// notYet are the states in which pieces that are counted show a run that nobody
// started.
var notYet = []VisitState{VisitWaiting, VisitSetting, VisitFirstOff, VisitReady}

// Moves is the state machine of a visit. The fold follows it, and so does a device
// that is alone.
var Moves = []Move{
	{Action: traveler.ActSetup, To: VisitSetting},
	{Action: traveler.ActFirstOff, Pieces: pieceNone, To: VisitFirstOff, FirstOff: FirstWaiting},
	{Action: traveler.ActFirstOff, Pieces: pieceGood, From: []VisitState{VisitRunning},
		FirstOff: FirstAccepted},
	{Action: traveler.ActFirstOff, Pieces: pieceGood, To: VisitReady, FirstOff: FirstAccepted},
	{Action: traveler.ActFirstOff, Pieces: pieceBad, From: []VisitState{VisitRunning},
		FirstOff: FirstRefused},
	{Action: traveler.ActFirstOff, Pieces: pieceBad, To: VisitSetting, FirstOff: FirstRefused},
	{Action: traveler.ActRun, To: VisitRunning},
	{Action: traveler.ActStop, To: VisitStopped},
	{Action: traveler.ActSend, To: VisitOutside},
	{Action: traveler.ActCount, Pieces: pieceMade, From: notYet, To: VisitRunning},
	{Action: traveler.ActReceive, Pieces: pieceBack, To: VisitFinished},
	{Action: traveler.ActFinish, To: VisitFinished},
}

// move takes a visit on by a scan of a kind.
func (v *Visit) move(act traveler.Action, pieces string) {
	for i := range Moves {
		m := &Moves[i]
		if m.Action != act || (m.Pieces != "" && m.Pieces != pieces) ||
			(len(m.From) > 0 && !slices.Contains(m.From, v.State)) {
			continue
		}
		if m.To != "" {
			v.State = m.To
		}
		if m.FirstOff != "" {
			v.FirstOff = m.FirstOff
		}
		return
	}
}
