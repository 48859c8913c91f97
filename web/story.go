package web

import (
	"sort"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// lineView is one scan of a batch's story: what was said, by whom, and what the
// story made of it.
type lineView struct {
	Seq       traveler.Seq    `json:"seq"`
	At        time.Time       `json:"at"`
	Arrived   time.Time       `json:"arrived"`
	Uncertain bool            `json:"time_uncertain,omitempty"`
	Fate      story.Fate      `json:"fate"`
	Visit     traveler.ScanID `json:"visit,omitempty"`
	ChangedBy traveler.ScanID `json:"changed_by,omitempty"`
	Anyway    string          `json:"anyway,omitempty"`
	Say       string          `json:"say,omitempty"`
	By        string          `json:"by"`
	Role      traveler.Role   `json:"role"`
	Who       string          `json:"who,omitempty"` // the name on the badge, for those who may settle
	Machine   string          `json:"machine,omitempty"`
	Other     traveler.Code   `json:"other,omitempty"`
	Scan      *traveler.Scan  `json:"scan"`
}

// getStory tells everything that was said about a batch, in the order things
// happened, refused scans included.
func (s *Server) getStory(c *fiber.Ctx) error {
	f, i, err := s.familyOf(param(c, "code"))
	if err != nil {
		return err
	}
	out, faces := []lineView{}, s.faces(c)
	for _, l := range f.Lines.All() {
		if l.Batch != i && l.Entry.Card != f.Batches[i].Card {
			continue
		}
		v := lineViewOf(c, faces, l.Entry)
		v.At, v.Uncertain, v.Fate, v.ChangedBy = l.At, l.Uncertain, l.Fate, l.By
		v.Anyway = faces.msg(l.Anyway).Text(language(c))
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
	return c.JSON(fiber.Map{"batch": s.batchView(faces, f, i), "lines": out})
}

func lineViewOf(c *fiber.Ctx, faces *faces, e *traveler.Entry) lineView {
	return lineView{
		Seq: e.Seq, Arrived: e.Arrived, By: e.By.Name, Role: e.By.Role, Machine: string(e.Machine), Other: e.Other,
		Scan: faces.Scan(e.Scan), Say: faces.msg(e.Say).Text(language(c)), Who: faces.name(e.Scan.Operator),
	}
}

// familyOf finds a batch by what was scanned or typed; a works order must mean
// one batch only.
func (s *Server) familyOf(ref string) (*story.Family, int, error) {
	cards := s.cfg.Desk.FindCard(ref)
	if len(cards) > 1 {
		return nil, 0, traveler.Fail(traveler.KindConflict, "card.several", ref, joinCodes(cards))
	}
	if len(cards) == 0 {
		return nil, 0, traveler.Fail(traveler.KindNotFound, "card.unknown", ref)
	}
	f, err := s.cfg.Desk.Family(cards[0])
	if err != nil {
		return nil, 0, err
	}
	i := f.Index(cards[0])
	if i < 0 {
		return nil, 0, traveler.Fail(traveler.KindNotFound, "card.unknown", ref)
	}
	return f, i, nil
}

func joinCodes(cards []traveler.Code) string {
	s := ""
	for i, c := range cards {
		if i > 0 {
			s += ", "
		}
		s += string(c)
	}
	return s
}
