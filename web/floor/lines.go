package floor

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/door"
)

// lineView is one scan of a batch's story: what was said, by whom, and what the
// story made of it.
type lineView struct {
	Seq       traveler.Seq    `json:"seq"`
	At        time.Time       `json:"at"`
	Arrived   time.Time       `json:"arrived"`
	Uncertain bool            `json:"time_uncertain,omitempty"`
	Fate      story.Fate      `json:"fate" api:"blank"`
	Visit     traveler.ScanID `json:"visit,omitempty"`
	ChangedBy traveler.ScanID `json:"changed_by,omitempty"`
	Anyway    string          `json:"anyway,omitempty"`
	Say       string          `json:"say,omitempty"`
	By        string          `json:"by"`
	Role      traveler.Role   `json:"role" api:"blank"`
	Who       string          `json:"who,omitempty"` // the name on the badge, for those who may settle
	Machine   string          `json:"machine,omitempty"`
	Other     traveler.Code   `json:"other,omitempty"`
	Scan      *traveler.Scan  `json:"scan" api:"there"`
}

func lineViewOf(c *fiber.Ctx, faces *door.Faces, e *traveler.Entry) lineView {
	return lineView{
		Seq: e.Seq, Arrived: e.Arrived, By: e.By.Name, Role: e.By.Role, Machine: string(e.Machine),
		Other: e.Other,
		Scan:  faces.Scan(e.Scan), Say: faces.Say(e.Say), Who: faces.Name(e.Scan.Operator),
	}
}

// saidAt is when a scan says it happened, by its own clock.
func saidAt(s *traveler.Scan) time.Time {
	if s.Happened != nil {
		return *s.Happened
	}
	return s.At.Add(time.Duration(s.OffsetMS) * time.Millisecond)
}
