package floor

import (
	"sort"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
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

// storyView is a batch and all that was said about it.
type storyView struct {
	Batch batchView  `json:"batch"`
	Lines []lineView `json:"lines"`
}

// getStory tells everything that was said about a batch, in the order things
// happened, refused scans included.
func (s *room) getStory(c *fiber.Ctx) error {
	f, i, err := s.FamilyOf(ask.PathParam(c, "code"))
	if err != nil {
		return err
	}
	out, faces := []lineView{}, s.Faces(c)
	for _, l := range f.Lines.All() {
		if l.Batch != i && l.Entry.Card != f.Batches[i].Card {
			continue
		}
		v := lineViewOf(c, faces, l.Entry)
		v.At, v.Uncertain, v.Fate, v.ChangedBy = l.At, l.Uncertain, l.Fate, l.By
		v.Anyway = faces.Msg(l.Anyway).Text(ask.Language(c))
		if l.Visit >= 0 {
			v.Visit = f.Visits[l.Visit].ID
		}
		out = append(out, v)
	}
	for _, e := range f.Refused {
		if e.Card == f.Batches[i].Card {
			v := lineViewOf(c, faces, e)
			v.At, v.Fate = saidAt(e.Scan), story.FateRefused
			out = append(out, v)
		}
	}
	sort.SliceStable(out, func(a, b int) bool { return out[a].At.Before(out[b].At) })
	return c.JSON(storyView{s.batchView(faces, f, i), out})
}

func lineViewOf(c *fiber.Ctx, faces *door.Faces, e *traveler.Entry) lineView {
	return lineView{
		Seq: e.Seq, Arrived: e.Arrived, By: e.By.Name, Role: e.By.Role, Machine: string(e.Machine), Other: e.Other,
		Scan: faces.Scan(e.Scan), Say: faces.Msg(e.Say).Text(ask.Language(c)), Who: faces.Name(e.Scan.Operator),
	}
}
