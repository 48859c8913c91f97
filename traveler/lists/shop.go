package lists

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/story"
)

// fields lists the differences of two structures by the JSON names of their fields.
func fields(before, after any) (out []string) {
	a, b := reflect.ValueOf(before), reflect.ValueOf(after)
	for i := range a.NumField() {
		name, _, _ := strings.Cut(a.Type().Field(i).Tag.Get("json"), ",")
		if x, y := a.Field(i).Interface(), b.Field(i).Interface(); !reflect.DeepEqual(x, y) {
			out = append(out, name+": "+fmt.Sprint(x)+" > "+fmt.Sprint(y))
		}
	}
	return out
}

func (s *Room) machines(p *Plan, c *traveler.Change) {
	shop := s.Desk.Shop()
	for _, m := range c.Machines {
		old, known := shop.Machine(m.ID, c.From)
		if m.Code == "" {
			m.Code = old.Code
		}
		putKnown(p, string(m.ID), known, fields(old, m))
	}
}

// putKnown notes something that was there, with what of it changes, or was not.
func putKnown(p *Plan, key string, known bool, changes []string) {
	switch {
	case !known:
		p.put(key, New)
	case len(changes) > 0:
		p.put(key, Changed, changes...)
	default:
		p.put(key, Same)
	}
}

func (s *Room) calendars(p *Plan, c *traveler.Change) {
	was := map[string]calendar.Calendar{}
	for _, k := range s.Desk.Shop().Calendars(c.From) {
		was[k.Name] = k
	}
	for _, k := range c.Calendars {
		old, known := was[k.Name]
		var changes []string
		if known && !reflect.DeepEqual(old, k) {
			changes = []string{"turns: " + num(len(old.Turns)) + " > " + num(len(k.Turns))}
		}
		putKnown(p, k.Name, known, changes)
	}
}

// reasons replace each other: those that a list leaves out can be said no more.
func (s *Room) reasons(p *Plan, c *traveler.Change) {
	was := map[string]traveler.Reason{}
	for _, kind := range traveler.ReasonKinds {
		for _, x := range s.Desk.Shop().Reasons(kind, c.From) {
			was[x.Kind+" "+x.Code] = x
		}
	}
	for _, x := range c.Reasons {
		key := x.Kind + " " + x.Code
		old, known := was[key]
		changes := differs(nil, "text", old.Text, x.Text)
		putKnown(p, key, known,
			differs(changes, "work_centres", centres(old.WorkCentres), centres(x.WorkCentres)))
		delete(was, key)
	}
	if len(c.Reasons) == 0 {
		return
	}
	for key, x := range was {
		p.put(key, Changed, differs(nil, "text", x.Text, "")...)
	}
}

// routes says what becomes of routes; a revision that batches were released on never
// changes, and is refused with its name.
func (s *Room) routes(p *Plan, c *traveler.Change, lines []int) error {
	shop := s.Desk.Shop()
	gone := outOfForce(shop, c)
	var changed []int // places in the list
	for i, x := range c.Routes {
		old, known := shop.Route(x.Part, x.Rev)
		var changes []string
		if known && !reflect.DeepEqual(old, x) {
			changes = routeChanges(&old, &x)
			changed = append(changed, i)
		}
		if known || len(gone[x.Part]) == 0 {
			putKnown(p, x.Part+" "+x.Rev, known, append(changes, gone[x.Part]...))
		} else {
			p.put(x.Part+" "+x.Rev, New, gone[x.Part]...)
		}
		delete(gone, x.Part) // said once
	}
	if len(changed) == 0 {
		return nil
	}
	used, err := s.used()
	if err != nil {
		return err
	}
	var bad intake.Refused
	for _, i := range changed {
		x := &c.Routes[i]
		if used[traveler.RouteKey{Part: x.Part, Rev: x.Rev}] {
			inUse := traveler.Msg{Key: "change.used", Args: []string{x.Part, x.Rev}}
			bad.Add(intake.Problem{File: p.file, Line: lines[i], Column: "route_rev", Value: x.Rev,
				Reason: inUse.Text(traveler.English)})
		}
	}
	return bad.Err()
}

// outOfForce says by part which drawings are in force no more once a list is taken:
// those of its parts that no route of it names. Batches on them wait until someone
// decides.
func outOfForce(shop *traveler.Shop, c *traveler.Change) map[string][]string {
	named := map[string][]string{}
	for i := range c.Routes {
		named[c.Routes[i].Part] = append(named[c.Routes[i].Part], c.Routes[i].DrawingRev)
	}
	out := map[string][]string{}
	for _, r := range shop.Routes() {
		drawings, listed := named[r.Part]
		_, over := shop.Superseded(r.Part, r.DrawingRev, c.From)
		if !listed || over || r.DrawingRev == "" || slices.Contains(drawings, r.DrawingRev) {
			continue
		}
		said := differs(nil, "drawing in force", r.DrawingRev, strings.Join(slices.Compact(drawings), ", "))
		if !slices.Contains(out[r.Part], said[0]) {
			out[r.Part] = append(out[r.Part], said...)
		}
	}
	return out
}

// used are the revisions that batches were released on.
func (s *Room) used() (map[traveler.RouteKey]bool, error) {
	out := map[traveler.RouteKey]bool{}
	q := story.FactQuery{Open: true, Without: story.FactTrip | story.FactOps | story.FactVisits, Lent: true}
	err := s.Desk.Facts(q, func(b *story.BatchFact) bool {
		out[traveler.RouteKey{Part: b.Part, Rev: b.Rev}] = true
		return true
	})
	return out, err
}

func routeChanges(old, now *traveler.Route) (out []string) {
	out = differs(out, "part_name", old.PartName, now.PartName)
	out = differs(out, "drawing_rev", old.DrawingRev, now.DrawingRev)
	out = differs(out, "material", old.Material, now.Material)
	for i := range now.Operations {
		o := &now.Operations[i]
		k := old.Index(o.Number)
		if k < 0 {
			out = append(out, "+ "+o.Number.String()+" "+string(o.WorkCentre))
			continue
		}
		for _, x := range fields(old.Operations[k], *o) {
			out = append(out, o.Number.String()+" "+x)
		}
	}
	for i := range old.Operations {
		if o := &old.Operations[i]; now.Index(o.Number) < 0 {
			out = append(out, "- "+o.Number.String()+" "+string(o.WorkCentre))
		}
	}
	return out
}
