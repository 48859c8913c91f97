package door

import (
	"encoding/json"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
)

// Faces is how people appear to the one who asks.
type Faces struct {
	*people.Badges
	named bool
}

// NewFaces is how people appear; named says that their names are seen.
func NewFaces(t story.Tables, named bool) *Faces { return &Faces{people.NewBadges(t), named} }

// Faces is how people appear to the one who asks: by number, and by name to
// those who may settle what was said.
func (s *Door) Faces(c *fiber.Ctx) *Faces {
	return NewFaces(s.Tables, traveler.May(Who(c).Role, traveler.DeedSettle))
}

// Name is the name of someone, for those who may see it.
func (f *Faces) Name(id traveler.PersonID) string {
	if !f.named || id == "" {
		return ""
	}
	f.Load()
	return f.Names[f.Number(id)]
}

// Plain is an answer of another package, written without codes of badges.
func (f *Faces) Plain(v any) (json.RawMessage, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return json.RawMessage(f.Text(string(b))), nil
}
