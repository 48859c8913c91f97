package web

import (
	"sort"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

// Person is somebody on the floor who says who he is by a badge. Names stay
// out of the record.
type Person struct {
	ID   traveler.PersonID `json:"person"` // clock number or initials
	Code traveler.Code     `json:"code"`   // on the badge
	Name string            `json:"name"`
	Role traveler.Role     `json:"role"`
}

// person finds somebody by badge code or by clock number.
func (s *Server) person(ref string) (Person, bool) {
	if c, ok := traveler.ParseCode(ref); ok && c.Kind() == traveler.KindPerson {
		ref = string(c)
	}
	var p Person
	ok, err := s.row(tablePeople, ref, &p)
	if err == nil && ok {
		return p, true
	}
	all, err := rows[Person](s, tablePeople)
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

func (s *Server) people() ([]Person, error) {
	all, err := rows[Person](s, tablePeople)
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

// getPerson tells a station who a badge belongs to.
func (s *Server) getPerson(c *fiber.Ctx) error {
	p, ok := s.person(param(c, "ref"))
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "person.unknown", param(c, "ref"))
	}
	if code, _ := traveler.ParseCode(param(c, "ref")); code != p.Code {
		p.Code = "" // known to those only who hold the badge
	}
	return c.JSON(p)
}

func (s *Server) getPeople(c *fiber.Ctx) error {
	all, err := s.people()
	if err != nil {
		return err
	}
	return c.JSON(fiber.Map{"people": all})
}

type accountView struct {
	Name string        `json:"name"`
	Role traveler.Role `json:"role"`
	By   string        `json:"by"`
}

func (s *Server) getAccounts(c *fiber.Ctx) error {
	all, err := rows[account](s, tableAccounts)
	if err != nil {
		return err
	}
	out := make([]accountView, 0, len(all))
	for _, a := range all {
		out = append(out, accountView{a.Name, a.Role, a.By})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return c.JSON(fiber.Map{"accounts": out})
}

type newAccountBody struct {
	Name     string        `json:"name"`
	Password string        `json:"password"`
	Role     traveler.Role `json:"role"`
}

func (s *Server) postAccount(c *fiber.Ctx) error {
	var in newAccountBody
	if err := decode(c, &in); err != nil {
		return err
	}
	a, err := s.newAccount(in.Name, in.Password, in.Role, who(c).Name)
	if err != nil {
		return err
	}
	if err := s.putRow(tableAccounts, a.Name, a); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(accountView{a.Name, a.Role, a.By})
}

func (s *Server) deleteAccount(c *fiber.Ctx) error {
	name := param(c, "name")
	if p := who(c); p.How == byAccount && p.Name == name {
		return traveler.Invalid("name", "web.self")
	}
	if err := s.cfg.Tables.Delete(tableAccounts, name); err != nil {
		return err
	}
	return c.SendStatus(fiber.StatusNoContent)
}
