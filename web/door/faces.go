package door

import (
	"encoding/json"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// Faces is how people appear to the one who asks.
type Faces struct {
	*people.Badges
	named    bool
	language string
}

// NewFaces is how people appear, in sentences of a language; named says that their
// names are seen.
func NewFaces(t story.Tables, named bool, language string) *Faces {
	return &Faces{people.NewBadges(t), named, language}
}

// Faces is how people appear to the one who asks: by number, and by name to
// those who may settle what was said.
func (s *Door) Faces(c *fiber.Ctx) *Faces {
	return NewFaces(s.Tables, traveler.May(Who(c).Role, traveler.DeedSettle), ask.Language(c))
}

// Name is the name of someone, for those who may see it.
func (f *Faces) Name(id traveler.PersonID) string {
	if !f.named || id == "" {
		return ""
	}
	return f.NameOf(id)
}

// Say is a sentence in the language of the one who asks, without codes of badges. The
// record keeps what was answered as a key and what fills it in, so what was said long
// ago is read in anybody's language.
func (f *Faces) Say(m traveler.Msg) string { return f.Msg(m).Text(f.language) }

// Plain is an answer of another package, written without codes of badges. It fails
// where json.Marshal does.
func (f *Faces) Plain(v any) (json.RawMessage, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return json.RawMessage(f.Text(string(b))), nil
}
