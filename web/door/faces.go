package door

import (
	"encoding/json"
	"math"
	"time"

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

// MeasuredAt is a dimension as it was found, with who measured it, where and when.
type MeasuredAt struct {
	traveler.Measured
	// How far it is outside its tolerance: above 0 too large, below 0 too small.
	Beyond    float64            `json:"beyond"`
	Operation traveler.Op        `json:"operation"`
	Machine   traveler.MachineID `json:"machine"`
	By        traveler.PersonID  `json:"by,omitempty"`
	Who       string             `json:"who,omitempty"` // the name on the badge, for those who may settle
	At        time.Time          `json:"at"`
}

// Measured is what was measured at a visit.
func (f *Faces) Measured(v *story.Visit) (out []MeasuredAt) {
	for _, m := range v.Measured {
		beyond := math.Round(m.Beyond()*1e6) / 1e6
		out = append(out,
			MeasuredAt{m.Measured, beyond, v.Operation, v.Machine, f.Number(m.By), f.Name(m.By), m.At})
	}
	return out
}
