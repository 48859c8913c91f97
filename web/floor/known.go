package floor

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"slices"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// knownView is what a station keeps to go on with while nothing answers.
type knownView struct {
	// Names the content: asked for again with it, the same is answered with 204.
	Tag   string          `json:"tag"`
	Known json.RawMessage `json:"known" api:"array"` // the batches, each with its route and visits
	// Sentences of refusals that a station says by itself, by key; {0} is filled in.
	Texts   map[string]string `json:"texts"`
	Arrives bool              `json:"arrives"` // it is usual here to say when a batch comes
}

// knownMost is how many batches a station keeps: those at the machine, and the
// first of what waits for it.
const knownMost = 60

// getStationKnown gives a station what it needs to judge by itself what is said
// of the batches at a machine and of those that wait for it.
func (s *room) getStationKnown(c *fiber.Ctx) error {
	shop, now := s.Desk.Shop(), s.Time()
	id, ok := shop.FindMachine(ask.PathParam(c, "machine"))
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "station.unknown", ask.PathParam(c, "machine"))
	}
	m, _ := shop.Machine(id, now)
	known := []any{}
	for _, card := range s.cardsFor(m) {
		f, err := s.Desk.Family(card)
		if err != nil {
			return err
		}
		if i := f.Index(card); i >= 0 {
			known = append(known, s.Known(shop, f, i, now))
		}
	}
	plain, err := s.Faces(c).Plain(known)
	if err != nil {
		return err
	}
	sum := fnv.New64a()
	_, _ = sum.Write(plain) // a hash does not fail
	comes := s.arrives(id)
	tag := fmt.Sprintf("%x-%s-%t-%s", sum.Sum64(), s.Version, comes, ask.Language(c))
	if c.Query("tag") == tag {
		return c.SendStatus(fiber.StatusNoContent)
	}
	texts := map[string]string{}
	for _, key := range s.Refusals {
		texts[key] = traveler.Msg{Key: key}.Text(ask.Language(c))
	}
	for _, role := range []traveler.Role{traveler.RoleOperator, traveler.RoleInspector,
		traveler.RoleSupervisor, traveler.RolePlanner} {
		key := "role." + string(role)
		texts[key] = traveler.Msg{Key: key}.Text(ask.Language(c))
	}
	return c.JSON(knownView{tag, plain, texts, comes})
}

// cardsFor are the batches at a machine, and then what waits for it, the next one
// first.
func (s *room) cardsFor(m traveler.Machine) (cards []traveler.Code) {
	note := func(card traveler.Code) {
		if len(cards) < knownMost && !slices.Contains(cards, card) {
			cards = append(cards, card)
		}
	}
	s.Desk.Open(func(f *story.Family) bool {
		for j := range f.Visits {
			if v := &f.Visits[j]; v.Machine == m.ID && v.Open() {
				note(f.Batches[v.Batch].Card)
			}
		}
		return true
	})
	slices.Sort(cards) // the desk's own order is none
	for _, row := range s.Waiting(m.WorkCentre) {
		note(row.Card)
	}
	return cards
}

// withKnown adds what a station needs to go on with a batch by itself to the view
// of it.
func withKnown(view, known json.RawMessage) json.RawMessage {
	return slices.Concat(view[:len(view)-1], []byte(`,"known":`), known, []byte("}"))
}
