package people

import (
	"cmp"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/story"
)

// tableErased holds whose names were erased, by number.
const tableErased = "erased"

// Erased is someone whose name was replaced by a pseudonym. The record has numbers only,
// so nothing in it changes; the number is not given to anyone else.
type Erased struct {
	ID        traveler.PersonID `json:"person"`
	Pseudonym string            `json:"pseudonym"`
	At        time.Time         `json:"at"`
}

// Erase replaces someone's name by a pseudonym, for good: a list that is imported later
// does not bring it back. It fails as the tables do.
func Erase(t story.Tables, e Erased) error {
	if err := rows.Write(t, tableErased, string(e.ID), e); err != nil {
		return err
	}
	p, there := Find(t, string(e.ID))
	if !there || p.Name == e.Pseudonym {
		return nil
	}
	p.Name = e.Pseudonym
	return Put(t, p, p.Code, e.At)
}

// AllErased lists those whose names were erased, by number. It fails as the tables do.
func AllErased(t story.Tables) ([]Erased, error) {
	all, err := rows.All[Erased](t, tableErased)
	if err != nil {
		return nil, err
	}
	return MergeErased(values(all)), nil
}

func values(all map[string]Erased) (list []Erased) {
	for _, e := range all {
		list = append(list, e)
	}
	return list
}

// MergeErased puts lists of erased names together: one for each number, the latest, by
// number.
func MergeErased(lists ...[]Erased) []Erased {
	all := slices.Concat(lists...)
	slices.SortStableFunc(all, func(a, b Erased) int {
		return cmp.Or(cmp.Compare(a.ID, b.ID), b.At.Compare(a.At))
	})
	return slices.CompactFunc(all, func(a, b Erased) bool { return a.ID == b.ID })
}
