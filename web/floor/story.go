package floor

import (
	"sort"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// storyView is a batch and all that was said about it.
type storyView struct {
	Batch batchView  `json:"batch"`
	Lines []lineView `json:"lines"`
}

// getStory gives everything that was said about a batch, in the order things
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
		v.Anyway = faces.Say(l.Anyway)
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
