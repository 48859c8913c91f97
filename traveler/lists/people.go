package lists

import (
	"cmp"
	"encoding/json"
	"io"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/people"
)

// newPerson is a person of a list, and the code of the badge before.
type newPerson struct {
	people.Person
	was traveler.Code
}

func (s *Room) people(p *Plan, in io.Reader) error {
	list, err := intake.People(p.file, in)
	if err != nil {
		return err
	}
	was := map[traveler.PersonID]people.Person{}
	codes := map[traveler.PersonID]traveler.Code{}
	if err := s.Tables.Each("people", func(_ string, v []byte) bool {
		var x people.Person
		if json.Unmarshal(v, &x) == nil {
			was[x.ID], codes[x.ID] = x, x.Code
		}
		return true
	}); err != nil {
		return err
	}
	if err := badgesFree(p.file, list, codes, people.NewBadges(s.Tables)); err != nil {
		return err
	}
	erased, err := people.AllErased(s.Tables)
	if err != nil {
		return err
	}
	for _, x := range list {
		old, known := was[x.ID]
		row := people.Person{ID: x.ID, Code: cmp.Or(x.Code, old.Code), Name: x.Name, Role: x.Role}
		if i := slices.IndexFunc(erased, func(e people.Erased) bool { return e.ID == x.ID }); i >= 0 {
			row.Name = erased[i].Pseudonym // what was erased does not come back with a list
		}
		var changes []string
		changes = differs(changes, "name", old.Name, row.Name)
		changes = differs(changes, "role", string(old.Role), string(row.Role))
		if row.Code != old.Code {
			changes = append(changes, "code")
		}
		putKnown(p, string(x.ID), known, changes)
		p.newPeople = append(p.newPeople, newPerson{row, old.Code})
	}
	return nil
}

// takePeople keeps people; who has no badge yet is given one.
func (s *Room) takePeople(p *Plan) error {
	for _, x := range p.newPeople {
		if x.Code == "" {
			code, err := NewCode(s.Random, traveler.KindPerson)
			if err != nil {
				return err
			}
			x.Code = code
		}
		if err := people.Put(s.Tables, x.Person, x.was, s.Now()); err != nil {
			return err
		}
	}
	return nil
}

// badgesFree refuses a badge that another person has or had, here or in the
// list: scans that it made are theirs.
func badgesFree(file string, list []intake.Person, known map[traveler.PersonID]traveler.Code,
	before *people.Badges) error {
	owner := map[traveler.Code]traveler.PersonID{}
	for id, code := range known {
		owner[code] = id
	}
	var bad intake.Refused
	for _, p := range list {
		if has := cmp.Or(owner[p.Code], before.Owner(p.Code)); p.Code != "" && has != "" && has != p.ID {
			bad.Add(intake.Problem{File: file, Line: p.Line, Column: "code", Value: string(p.Code),
				Reason: "is the badge of " + string(has)})
			continue
		}
		if p.Code != "" {
			owner[p.Code] = p.ID
		}
	}
	return bad.Err()
}

// NewCode makes a code of a kind that is well formed. It fails as the reader does.
func NewCode(random io.Reader, kind traveler.Kind) (traveler.Code, error) {
	for {
		var b [5]byte
		if _, err := io.ReadFull(random, b[:]); err != nil {
			return "", err
		}
		n := uint64(0)
		for _, x := range b {
			n = n<<8 | uint64(x)
		}
		if c, ok := traveler.NewCode(kind, n); ok {
			return c, nil
		}
	}
}
