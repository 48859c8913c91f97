package morning

import (
	"sync"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// openView is how many questions are open, by what they are about; loose are scans that
// belong to no batch.
type openView struct {
	Open  int                        `json:"open"` // all of them, loose scans too
	Kinds map[story.QuestionKind]int `json:"kinds"`
	Loose int                        `json:"loose"`
}

// asked keeps how many questions each family on the floor has, so that a page that shows
// the number reads only the families that changed since it was last asked for. It is safe
// for concurrent use.
type asked struct {
	mu      sync.Mutex
	version uint64
	kinds   map[traveler.Code]map[story.QuestionKind]int // by the roots of families
}

func (s *room) getOpen(c *fiber.Ctx) error { return c.JSON(s.asked.open(s.Desk)) }

// open counts the questions as the floor stands.
func (a *asked) open(desk story.Desk) openView {
	a.mu.Lock()
	defer a.mu.Unlock()
	changed, now, ok := desk.ChangedSince(a.version)
	if ok && a.kinds != nil {
		for root, f := range changed {
			a.note(root, f)
		}
	} else {
		a.kinds = map[traveler.Code]map[story.QuestionKind]int{}
		desk.Open(func(f *story.Family) bool {
			a.note(f.Root, f)
			return true
		})
	}
	a.version = now
	v := openView{Kinds: map[story.QuestionKind]int{}}
	for _, kinds := range a.kinds {
		for kind, n := range kinds {
			v.Kinds[kind] += n
			v.Open += n
		}
	}
	for _, e := range desk.Loose() {
		if e.Scan != nil && e.Outcome == traveler.Questioned {
			v.Loose++
		}
	}
	v.Open += v.Loose
	return v
}

// note keeps what a family asks; nil is for one that left the floor.
func (a *asked) note(root traveler.Code, f *story.Family) {
	delete(a.kinds, root)
	if f == nil {
		return
	}
	for _, q := range f.Questions() {
		if q.Settled != nil {
			continue
		}
		if a.kinds[root] == nil {
			a.kinds[root] = map[story.QuestionKind]int{}
		}
		a.kinds[root][q.Kind]++
	}
}
