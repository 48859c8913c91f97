package floor

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// visitNow is a visit without its spans, losses, scans and people.
type visitNow struct {
	Visit     traveler.ScanID    `json:"visit"`
	Operation traveler.Op        `json:"operation"`
	Machine   traveler.MachineID `json:"machine"`
	State     story.VisitState   `json:"state"`
	Arrived   *time.Time         `json:"arrived"`
	Finished  *time.Time         `json:"finished"`
	Transport *float64           `json:"transport_s"` // ISO 22400 ATT; null where no arrival was scanned
	Queue     *float64           `json:"queue_s"`     // ISO 22400 AQT; null where no arrival was scanned
	// End of the visit before to the first set-up or run; null where an arrival was
	// scanned.
	Between  *float64 `json:"between_s"`
	Setup    float64  `json:"setup_s"`    // ISO 22400 AUST
	FirstOff float64  `json:"firstoff_s"` // waiting for the verdict on the first piece
	Run      float64  `json:"run_s"`      // ISO 22400 APT
	Stop     float64  `json:"stop_s"`     // ISO 22400 ADET
	Good     int      `json:"good"`
	Scrap    int      `json:"scrap"`
	Rework   int      `json:"rework"`
	Review   int      `json:"review"`
	Missing  int      `json:"missing"`
	// Metres to this machine.
	WalkM float64 `json:"walk_m"`
	// What was inferred rather than said.
	Inferred []string `json:"inferred" api:"enum=arrival|start|finish|count"`
}

// visitState is the state of a visit, one that the batch has passed being over.
func visitState(v *story.Visit) story.VisitState {
	if !v.PassedBy.IsZero() {
		return story.VisitFinished
	}
	return v.State
}

func visitNowOf(v *story.Visit, fact *story.VisitFact) visitNow {
	t := &fact.Parts
	out := visitNow{
		Visit: v.ID, Operation: v.Operation, Machine: v.Machine, State: visitState(v),
		Arrived: ask.Moment(v.Arrived), Finished: ask.Moment(v.Ended()), Setup: t.Setup.Seconds(),
		FirstOff: t.FirstOff.Seconds(), Run: t.Run.Seconds(), Stop: t.Stop.Seconds(), Good: fact.Good,
		Scrap:  fact.Scrap,
		Rework: fact.Rework, Review: fact.Review, Missing: fact.Missing, WalkM: fact.Metres,
		Inferred: ask.Some(v.Inferred()),
	}
	if fact.NoArrival {
		out.Between = ask.Seconds(t.Between)
	} else {
		out.Transport, out.Queue = ask.Seconds(t.Transport), ask.Seconds(t.Queue)
	}
	return out
}
