package web

import (
	"sort"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
)

// Person is someone on the floor who says who he is by a badge. Names stay
// out of the record.
type Person struct {
	ID   traveler.PersonID `json:"person"` // clock number or initials
	Code traveler.Code     `json:"code"`   // on the badge
	Name string            `json:"name"`
	Role traveler.Role     `json:"role"`
}

const tablePeople = "people"

// personIn finds someone by badge, also one that was replaced, or by clock
// number.
func personIn(t traveler.Tables, ref string) (Person, bool) {
	var p Person
	if code, ok := badgeCode(ref); ok {
		if there, err := rows.Read(t, tablePeople, string(code), &p); err == nil && there {
			return p, true
		}
		var old oldBadge
		if there, err := rows.Read(t, tableBadges, string(code), &old); err != nil || !there {
			return p, false
		}
		ref = string(old.Person)
	}
	all, err := rows.All[Person](t, tablePeople)
	if err != nil {
		return p, false
	}
	for _, x := range all {
		if string(x.ID) == ref {
			return x, true
		}
	}
	return p, false
}

// allPeople lists everybody, by clock number. It fails as the tables do.
func allPeople(t traveler.Tables) ([]Person, error) {
	all, err := rows.All[Person](t, tablePeople)
	if err != nil {
		return nil, err
	}
	out := make([]Person, 0, len(all))
	for _, p := range all {
		out = append(out, p)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].ID < out[j].ID })
	return out, nil
}

// personView is someone as a badge says it.
type personView struct {
	ID   traveler.PersonID `json:"person"`
	Name string            `json:"name,omitempty"`
	Role traveler.Role     `json:"role,omitempty"`
}

// getPerson tells a station who a badge belongs to. A number that was typed is
// answered with nothing but the number: else a station would tell all names to
// one who counts.
func (s *Server) getPerson(c *fiber.Ctx) error {
	ref := param(c, "ref")
	p, ok := personIn(s.cfg.Tables, ref)
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "person.unknown", ref)
	}
	code, isBadge := badgeCode(ref)
	switch {
	case isBadge && code != p.Code:
		return traveler.Fail(traveler.KindForbidden, "person.badge")
	case isBadge || s.faces(c).named:
		return c.JSON(personView{p.ID, p.Name, p.Role})
	}
	return c.JSON(personView{ID: p.ID})
}

// postBadge gives someone another badge: the one before lends no role any more.
func (s *Server) postBadge(c *fiber.Ctx) error {
	s.once.Lock()
	defer s.once.Unlock()
	ref := param(c, "ref")
	p, ok := personIn(s.cfg.Tables, ref)
	if _, isBadge := badgeCode(ref); !ok || isBadge {
		return traveler.Fail(traveler.KindNotFound, "person.number", ref)
	}
	was := p.Code
	code, err := s.newCode(traveler.KindPerson)
	if err != nil {
		return err
	}
	p.Code = code
	if err := PutPerson(s.cfg.Tables, p, was, s.now()); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(p)
}

func (s *Server) getPeople(c *fiber.Ctx) error {
	all, err := allPeople(s.cfg.Tables)
	if err != nil {
		return err
	}
	return c.JSON(fiber.Map{"people": all})
}
