package door

import (
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// languageBody is the language that someone chooses; empty is for none, so that the
// browser's own holds again.
type languageBody struct {
	Language string `json:"language" api:"enum=en|de|es|pl|tr,blank"`
}

// checkLanguage fails with KindInvalid for a language that there are no words in;
// none at all is fine.
func checkLanguage(code string) error {
	if code == "" || traveler.IsLanguage(code) {
		return nil
	}
	return traveler.Invalid("language", "web.language", code, strings.Join(traveler.Languages(), ", "))
}

// postLanguage keeps the language that is chosen: with the account that is signed
// in, else with the station; and in this browser, for when nobody is signed in.
func (s *Door) postLanguage(c *fiber.Ctx) error {
	var in languageBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if err := checkLanguage(in.Language); err != nil {
		return err
	}
	if err := s.keepLanguage(Who(c), in.Language); err != nil {
		return err
	}
	if in.Language == "" {
		s.dropCookie(c, cookieLanguage)
	} else {
		s.cookie(c, cookieLanguage, in.Language, stationTime)
	}
	return c.JSON(in)
}

func (s *Door) keepLanguage(p Principal, code string) error {
	switch p.How {
	case byAccount:
		var a account
		if ok, err := s.row(tableAccounts, p.Name, &a); err != nil || !ok || a.Language == code {
			return err
		}
		a.Language = code
		return s.putRow(tableAccounts, p.Name, a)
	case ByStation:
		var row pass
		if ok, err := s.row(tableStations, p.Key, &row); err != nil || !ok || row.Language == code {
			return err
		}
		row.Language = code
		return s.putRow(tableStations, p.Key, row)
	}
	return nil
}
