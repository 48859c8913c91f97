package door

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/web/ask"
)

// badgeOwner is someone as a badge says it.
type badgeOwner struct {
	ID   traveler.PersonID `json:"person"`
	Name string            `json:"name,omitempty"`
	Role traveler.Role     `json:"role,omitempty"`
}

// getPerson says whose a badge is. A number that was typed is
// answered with nothing but the number: else a station would give all names to
// one who counts.
func (s *Door) getPerson(c *fiber.Ctx) error {
	ref := ask.PathParam(c, "ref")
	p, ok := people.Find(s.Tables, ref)
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "person.unknown", ref)
	}
	code, isBadge := people.BadgeCode(ref)
	switch {
	case isBadge && code != p.Code:
		return traveler.Fail(traveler.KindForbidden, "person.badge")
	case isBadge || s.Faces(c).named:
		return c.JSON(badgeOwner{p.ID, p.Name, p.Role})
	}
	return c.JSON(badgeOwner{ID: p.ID})
}

// postBadge gives someone another badge: the one before lends no role any more.
func (s *Door) postBadge(c *fiber.Ctx) error {
	s.once.Lock()
	defer s.once.Unlock()
	ref := ask.PathParam(c, "ref")
	p, ok := people.Find(s.Tables, ref)
	if _, isBadge := people.BadgeCode(ref); !ok || isBadge {
		return traveler.Fail(traveler.KindNotFound, "person.number", ref)
	}
	was := p.Code
	code, err := s.newCode(traveler.KindPerson)
	if err != nil {
		return err
	}
	p.Code = code
	if err := people.Put(s.Tables, p, was, s.Time()); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(p)
}

type peopleView struct {
	People []people.Person `json:"people"`
}

func (s *Door) getPeople(c *fiber.Ctx) error {
	all, err := people.All(s.Tables)
	if err != nil {
		return err
	}
	return c.JSON(peopleView{all})
}
