package figures

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/selfcheck"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

const (
	usualChecked = 300
	mostChecked  = 2000
)

// checkedView is figures both ways.
type checkedView struct {
	Selection selection       `json:"selection"`
	Check     selfcheck.Check `json:"check"`
}

// getCheck answers figures both ways.
func (s *room) getCheck(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	n, err := ask.QueryInt(c, "most", usualChecked)
	if err != nil {
		return err
	}
	if n < 1 || n > mostChecked {
		return traveler.Invalid("most", "form.number")
	}
	out, err := selfcheck.Figures(s.Desk, s.Zone, story.FactQuery{Part: sel.Part, From: sel.from, To: sel.to}, sel.fits, n)
	if err != nil {
		return err
	}
	return c.JSON(checkedView{sel, *out})
}
