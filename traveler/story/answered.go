package story

import (
	"time"

	"tallywalk/traveler"
)

// answerID is the id of an answer that nobody gave.
const answerID = traveler.ScanID("00000000-0000-7000-8000-000000000000")

// Answered is what the family would be if someone in a role answered a question at a
// moment, after all that is in its record; refused is why that answer would not be taken,
// and nothing follows then. Nothing is kept, and the family stays as it is.
func (f *Family) Answered(
	shop *traveler.Shop, q *Question, choice string, by traveler.Actor, at time.Time,
) (next *Family, refused traveler.Msg) {
	e := &traveler.Entry{
		Arrived: at, By: by, Rules: f.Rules, Card: q.Card,
		Scan: &traveler.Scan{
			ID: answerID, At: at, Station: traveler.Office, Card: string(q.Card), Action: traveler.ActDecide,
			For: q.ID, Reason: choice,
		},
	}
	for _, x := range f.record {
		e.Seq = x.Seq + 1
		if id := ControlTarget(e.Scan); id != "" && x.ID() == id {
			e.Target = x.Seq
		}
	}
	// Folded from the record, since versions that share what grows are the writer's alone.
	next, _ = Fold(shop, f.record).Add(shop, e)
	if e.Outcome == traveler.Refused {
		return nil, e.Say
	}
	return next, traveler.Msg{}
}
