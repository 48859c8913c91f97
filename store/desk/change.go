package desk

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
)

// Change changes the shop; see story.Desk. Machines without a code keep theirs or are
// given one. Machines and routes that are there already, as they are, are left out; a
// change that says nothing new is not kept. It fails as story.Desk says.
func (d *Desk) Change(ctx context.Context, by traveler.Actor, c *traveler.Change) error {
	clean := cleanChange(c)
	if err := changeFormed(clean); err != nil {
		return err
	}
	// A copy, since deciding takes out what is not new, and may happen twice.
	_, err := d.ask(ctx, func(w *writer) ([]reply, error) { return nil, w.change(by, cleanChange(clean)) })
	return err
}

func cleanChange(c *traveler.Change) *traveler.Change {
	n := &traveler.Change{
		From:     wholeOrZero(c.From),
		Machines: store.NilIfEmpty(slices.Clone(c.Machines)),
		Routes:   store.NilIfEmpty(slices.Clone(c.Routes)),
		Reasons:  store.NilIfEmpty(slices.Clone(c.Reasons)),
		Layout:   c.Layout, Calendars: store.NilIfEmpty(slices.Clone(c.Calendars)),
	}
	if l := c.Layout; l != nil {
		n.Layout = &traveler.Layout{Corners: store.NilIfEmpty(l.Corners), Aisles: store.NilIfEmpty(l.Aisles),
			Picture: l.Picture}
	}
	for i := range n.Calendars {
		n.Calendars[i].Turns = store.NilIfEmpty(n.Calendars[i].Turns)
	}
	for i := range n.Routes {
		n.Routes[i].Operations = store.NilIfEmpty(slices.Clone(n.Routes[i].Operations))
	}
	return n
}

// changeFormed checks that a change can be kept as it is. What makes sense in a
// shop is for the import to say, with line and column.
func changeFormed(c *traveler.Change) error {
	if !timeful(c.From) {
		return traveler.Invalid("from", "form.time")
	}
	for i := range c.Machines {
		m := &c.Machines[i]
		if m.ID == "" {
			return traveler.Invalid("machine", "form.missing")
		}
		if m.Code != "" {
			if code, ok := traveler.ParseCode(string(m.Code)); !ok || code != m.Code ||
				code.Kind() != traveler.KindMachine {
				return traveler.Invalid("code", "change.code", string(m.Code), string(m.ID))
			}
		}
	}
	for i := range c.Routes {
		if c.Routes[i].Part == "" || c.Routes[i].Rev == "" {
			return traveler.Invalid("route_rev", "form.missing")
		}
	}
	if err := groundFormed(c); err != nil {
		return err
	}
	return storable(reflect.ValueOf(*c))
}

// groundFormed checks the aisles and the calendars of a change.
func groundFormed(c *traveler.Change) error {
	if c.Layout != nil {
		for _, x := range c.Layout.Corners {
			if x.ID == "" {
				return traveler.Invalid("corner", "form.missing")
			}
		}
		for _, x := range c.Layout.Aisles {
			if x.From == "" || x.To == "" {
				return traveler.Invalid("aisles", "form.missing")
			}
		}
	}
	for i := range c.Calendars {
		if c.Calendars[i].Name == "" {
			return traveler.Invalid("calendar", "form.missing")
		}
		if _, err := calendar.New(c.Calendars[i]); err != nil {
			return traveler.Invalid("calendar", "change.calendar", c.Calendars[i].Name, err.Error())
		}
	}
	return nil
}

// storable checks every text and number of a value: JSON would change what is not
// valid, and an entry must come back as it went in.
func storable(v reflect.Value) error {
	switch v.Kind() {
	case reflect.String:
		if !traveler.CleanText(v.String(), traveler.MaxText) {
			return traveler.Invalid("", "form.text")
		}
	case reflect.Float64:
		if x := v.Float(); math.IsNaN(x) || math.Abs(x) > 1e12 {
			return traveler.Invalid("", "form.number")
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return storable(v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			if err := storable(v.Index(i)); err != nil {
				return err
			}
		}
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			return nil
		}
		for i := range v.NumField() {
			if err := storable(v.Field(i)); err != nil {
				if e := (*traveler.Error)(nil); errors.As(err, &e) && e.Field == "" {
					e.Field = fieldName(v.Type().Field(i))
				}
				return err
			}
		}
	}
	return nil
}

func fieldName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	return name
}

func (w *writer) change(by traveler.Actor, c *traveler.Change) error {
	if c.From.IsZero() {
		c.From = w.now
	}
	if err := w.unchanged(c.Routes); err != nil {
		return err
	}
	if err := w.machines(c); err != nil {
		return err
	}
	c.Routes = w.news(c)
	w.newGround(c)
	if len(c.Machines)+len(c.Routes)+len(c.Reasons)+len(c.Calendars) == 0 && c.Layout == nil {
		return nil
	}
	e := w.next(by)
	e.Change = c
	w.keep(e)
	w.shopSeqs = append(w.shopSeqs, e.Seq)
	w.markStale(c, w.now)
	w.shop = w.shop.With(c)
	w.refoldAll()
	return nil
}

// newGround drops aisles and calendars that are as they were.
func (w *writer) newGround(c *traveler.Change) {
	if c.Layout != nil && reflect.DeepEqual(*c.Layout, w.shop.Layout(c.From)) {
		c.Layout = nil
	}
	old := w.shop.Calendars(c.From)
	c.Calendars = store.NilIfEmpty(slices.DeleteFunc(c.Calendars, func(k calendar.Calendar) bool {
		return slices.ContainsFunc(old, func(o calendar.Calendar) bool { return reflect.DeepEqual(k, o) })
	}))
}

// refoldAll folds every family on the floor again, since a change may hold from
// before now, and what the record means depends on the shop.
func (w *writer) refoldAll() {
	for _, t := range w.families {
		w.setFamily(story.Fold(w.shop, t.f.Record()))
	}
}

// unchanged fails when a used route revision would change.
func (w *writer) unchanged(routes []traveler.Route) error {
	for i := range routes {
		r := &routes[i]
		if w.used[traveler.RouteKey{Part: r.Part, Rev: r.Rev}] && !w.same(r) {
			return &traveler.Error{
				Kind: traveler.KindConflict, Field: "route_rev",
				Say: traveler.Msg{Key: "change.used", Args: []string{r.Part, r.Rev}},
			}
		}
	}
	return nil
}

func (w *writer) same(r *traveler.Route) bool {
	old, ok := w.shop.Route(r.Part, r.Rev)
	return ok && reflect.DeepEqual(&old, r)
}

// news drops the routes of parts of which nothing is new. All routes of a part
// stay together, since a change puts the drawings it names in force and takes
// the part's others out of force.
func (w *writer) news(c *traveler.Change) []traveler.Route {
	stale := map[string]bool{}
	for i := range c.Routes {
		r := &c.Routes[i]
		_, superseded := w.shop.Superseded(r.Part, r.DrawingRev, c.From)
		if !w.same(r) || superseded || w.supersedes(c, r.Part) {
			stale[r.Part] = true
		}
	}
	return store.NilIfEmpty(
		slices.DeleteFunc(c.Routes, func(r traveler.Route) bool { return !stale[r.Part] }))
}

// supersedes reports whether a change leaves out a drawing of a part that is in
// force.
func (w *writer) supersedes(c *traveler.Change, part string) bool {
	for _, r := range w.shop.Routes() {
		if r.Part != part || r.DrawingRev == "" {
			continue
		}
		if _, superseded := w.shop.Superseded(part, r.DrawingRev, c.From); superseded {
			continue
		}
		if !slices.ContainsFunc(c.Routes,
			func(n traveler.Route) bool { return n.Part == part && n.DrawingRev == r.DrawingRev }) {
			return true
		}
	}
	return false
}

// machines gives machines their codes and drops those that are as they were.
func (w *writer) machines(c *traveler.Change) error {
	end := time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)
	taken := map[traveler.Code]traveler.MachineID{}
	for i := range c.Machines {
		m := &c.Machines[i]
		old, known := w.shop.Machine(m.ID, end)
		if m.Code == "" && known {
			m.Code = old.Code
		}
		if m.Code == "" {
			code, err := w.newCode(traveler.KindMachine)
			if err != nil {
				return w.readFailed(err)
			}
			m.Code = code
		}
		owner, used := w.shop.FindMachine(string(m.Code))
		if other, twice := taken[m.Code]; used && owner != m.ID || twice && other != m.ID {
			return traveler.Invalid("code", "change.code", string(m.Code), string(m.ID))
		}
		taken[m.Code] = m.ID
	}
	c.Machines = store.NilIfEmpty(slices.DeleteFunc(c.Machines, func(m traveler.Machine) bool {
		old, known := w.shop.Machine(m.ID, c.From)
		return known && old == m
	}))
	return nil
}
