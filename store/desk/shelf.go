package desk

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// shelf keeps the families off the floor that were asked for last. The desk's
// lock guards it.
type shelf struct {
	most  int
	turn  int // counts what may have made a family old that is being loaded
	items []*story.Family
}

func (s *shelf) get(root traveler.Code) *story.Family {
	for i, f := range s.items {
		if f.Root == root {
			copy(s.items[1:i+1], s.items[:i])
			s.items[0] = f
			return f
		}
	}
	return nil
}

func (s *shelf) put(root traveler.Code, f *story.Family) {
	s.drop(root)
	s.items = slices.Insert(s.items, 0, f)
	if len(s.items) > s.most {
		s.items = slices.Delete(s.items, s.most, len(s.items))
	}
}

func (s *shelf) drop(root traveler.Code) {
	s.items = slices.DeleteFunc(s.items, func(f *story.Family) bool { return f.Root == root })
}

// remove forgets a family because it came back to the floor or left it.
func (s *shelf) remove(root traveler.Code) {
	s.turn++
	s.drop(root)
}

func (s *shelf) clear() {
	s.turn++
	s.items = nil
}
