package door

import (
	"cmp"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

// accountView is an account without what opens it.
type accountView struct {
	Name string        `json:"name"`
	Role traveler.Role `json:"role"`
	By   string        `json:"by"`
}

type accountsView struct {
	Accounts []accountView `json:"accounts"`
}

func (s *Door) getAccounts(c *fiber.Ctx) error {
	out, err := rows.List(s.Tables, tableAccounts, accountViewOf,
		func(a, b accountView) int { return cmp.Compare(a.Name, b.Name) })
	if err != nil {
		return err
	}
	return c.JSON(accountsView{out})
}

func accountViewOf(_ string, a *account) accountView {
	return accountView{a.Name, a.Role, a.By}
}

// newAccountBody is an account to make, or to change.
type newAccountBody struct {
	Name     string        `json:"name"`
	Password string        `json:"password"`
	Role     traveler.Role `json:"role" api:"enum=operator|inspector|supervisor|planner|administrator"`
}

func (s *Door) postAccount(c *fiber.Ctx) error {
	var in newAccountBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	a, err := s.newAccount(in.Name, in.Password, in.Role, Who(c).Name)
	if err != nil {
		return err
	}
	var was account
	if _, err := s.row(tableAccounts, a.Name, &was); err != nil {
		return err
	}
	a.Language = was.Language
	if err := s.putRow(tableAccounts, a.Name, a); err != nil {
		return err
	}
	if err := s.endSessions(a.Name, a.ID); err != nil {
		return err
	}
	s.Log.Info("account made or changed", "account", shortID(a.ID), "role", a.Role, "by", shortID(Who(c).Key))
	return c.Status(fiber.StatusCreated).JSON(accountView{a.Name, a.Role, a.By})
}

func (s *Door) deleteAccount(c *fiber.Ctx) error {
	name := ask.PathParam(c, "name")
	if p := Who(c); p.How == byAccount && p.Name == name {
		return traveler.Invalid("name", "web.self")
	}
	var was account
	if _, err := s.row(tableAccounts, name, &was); err != nil {
		return err
	}
	if err := s.Tables.Delete(tableAccounts, name); err != nil {
		return err
	}
	if err := s.endSessions(name, ""); err != nil {
		return err
	}
	s.Log.Info("account removed", "account", shortID(was.ID), "by", shortID(Who(c).Key))
	return c.SendStatus(fiber.StatusNoContent)
}

// endSessions removes the sessions of an account, but those of its ID of now.
// They let nobody in any more as it is.
func (s *Door) endSessions(name, id string) error {
	all, err := rows.All[pass](s.Tables, tableSessions)
	if err != nil {
		return err
	}
	for key, p := range all {
		if p.Name != name || id != "" && p.Account == id {
			continue
		}
		if err := s.Tables.Delete(tableSessions, key); err != nil {
			return err
		}
	}
	return nil
}
