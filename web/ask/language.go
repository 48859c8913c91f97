package ask

import (
	"cmp"
	"slices"
	"strings"

	"github.com/gofiber/fiber/v2"
	"golang.org/x/text/language"

	"tallywalk/traveler"
)

// readsKey is where Reads keeps its list in the context of a request.
const readsKey = "reads"

// Language is the language in which the one who asks is answered: the best of those
// that there are words in.
func Language(c *fiber.Ctx) string { return Best(c, traveler.Languages()) }

// Best is the best for the one who asks of some languages; English where none of
// them is read.
func Best(c *fiber.Ctx, of []string) string {
	list, ok := c.Locals(readsKey).([]string)
	if !ok { // before it is known who asks
		list = accepted(c)
	}
	for _, l := range list {
		if slices.Contains(of, l) {
			return l
		}
	}
	return traveler.English
}

// Reads notes what the one who asks reads, the best first: what the address names;
// what the person, else the device has chosen; what this browser has chosen; what
// the browser says of itself (RFC 9110, 12.5.4); the shop's own. A page of ours says
// in which language it is whenever it asks for JSON: there the header goes before
// what was chosen, so that answers are in the language of the page around them.
func (s *House) Reads(c *fiber.Ctx, chosen, inBrowser string) {
	header := accepted(c)
	list := []string{c.Query("language")}
	if isJSON := strings.HasPrefix(c.Get(fiber.HeaderAccept), fiber.MIMEApplicationJSON); isJSON {
		list = append(list, header...)
	}
	list = append(list, chosen, inBrowser)
	list = append(list, header...)
	c.Locals(readsKey, append(list, cmp.Or(s.Language, traveler.English)))
}

// accepted are the languages that a request says it takes, the best first, by their
// ISO 639-1 codes: what is said of Austria's German holds for German.
func accepted(c *fiber.Ctx) []string {
	tags, weights, err := language.ParseAcceptLanguage(c.Get(fiber.HeaderAcceptLanguage))
	if err != nil {
		return nil
	}
	out := make([]string, 0, len(tags))
	for i, t := range tags {
		if base, _ := t.Base(); weights[i] > 0 {
			out = append(out, base.String())
		}
	}
	return out
}
