package people

import (
	"cmp"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/story"
)

// A badge's code is as good as a password at a station, so it goes into no
// answer and into no scan: people stand there by number, and by name for those
// who may settle what was said. Records from before hold codes all the same;
// Badges is how they are read.

// tableBadges holds the codes of badges that were replaced.
const tableBadges = "badges"

// oldBadge is a badge that was replaced: it says whose scans it made, and lends
// no role any more.
type oldBadge struct {
	Person   traveler.PersonID `json:"person"`
	Replaced time.Time         `json:"replaced"`
}

// Put keeps a person under the code of the badge; was is the code of the badge
// before, which counts as replaced from now on. It fails as the tables do.
func Put(t story.Tables, p Person, was traveler.Code, now time.Time) error {
	if was != "" && was != p.Code {
		if err := rows.Write(t, tableBadges, string(was), oldBadge{p.ID, now.UTC()}); err != nil {
			return err
		}
	}
	if err := rows.Write(t, tablePeople, string(p.Code), p); err != nil || was == "" || was == p.Code {
		return err
	}
	return t.Delete(tablePeople, string(was))
}

// Person is someone on the floor who says who he is by a badge. Names stay
// out of the record.
type Person struct {
	ID   traveler.PersonID `json:"person"` // clock number or initials
	Code traveler.Code     `json:"code"`   // on the badge
	Name string            `json:"name"`
	Role traveler.Role     `json:"role"`
}

const tablePeople = "people"

// Find finds someone by badge, also one that was replaced, or by clock
// number.
func Find(t story.Tables, ref string) (Person, bool) {
	var p Person
	if code, ok := BadgeCode(ref); ok {
		if there, err := rows.Read(t, tablePeople, string(code), &p); err == nil && there {
			return p, true
		}
		var old oldBadge
		if there, err := rows.Read(t, tableBadges, string(code), &old); err != nil || !there {
			return p, false
		}
		ref = string(old.Person)
	}
	all, err := rows.All[Person](t, tablePeople)
	if err != nil {
		return p, false
	}
	for _, x := range all {
		if string(x.ID) == ref {
			return x, true
		}
	}
	return p, false
}

// All lists everybody, by clock number. It fails as the tables do.
func All(t story.Tables) ([]Person, error) {
	return rows.List(t, tablePeople, rows.Row[Person],
		func(a, b Person) int { return cmp.Compare(a.ID, b.ID) })
}
