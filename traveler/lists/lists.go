// Package lists says what becomes of a list that someone imports, machines, routes,
// people, reasons, calendars or batches, before anything of it is kept, and keeps it.
//
// # Decisions, with their reasons
//
//   - A list is looked at and taken in two steps, of the same file: nothing of it is
//     kept in between, so that what is taken is what was looked at, or is looked at
//     again.
package lists

import (
	"context"
	"io"
	"strconv"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/story"
)

// Room is where lists are taken.
type Room struct {
	Desk   story.Desk
	Tables story.Tables
	Zone   *time.Location // of times without one
	// ZoneName is the zone of calendars that name none; may be empty.
	ZoneName string
	Now      func() time.Time
	Random   io.Reader // for codes of badges
	By       traveler.Actor
}

// Kinds are the lists that can be taken, in the order in which a shop needs them.
var Kinds = []string{"machines", "calendars", "reasons", "people", "routes", "batches"}

// What becomes of a line.
const (
	New     = "new"
	Changed = "changed"
	Same    = "same"
)

// Line is one thing of a list, and what becomes of it.
type Line struct {
	Key     string   // what it goes by
	What    string   // New, Changed or Same
	Changes []string // what of it changes, as before > after
}

// Plan is what a list comes to. It holds until something else is kept.
type Plan struct {
	Kind      string
	New       int
	Changed   int
	Same      int
	Lines     []Line
	Change    *traveler.Change // of machines, calendars, reasons and routes
	releases  []traveler.Release
	cards     []traveler.Code
	updates   []story.Said
	newPeople []newPerson
	file      string
}

func (p *Plan) put(key, what string, changes ...string) {
	p.Lines = append(p.Lines, Line{key, what, changes})
	switch what {
	case New:
		p.New++
	case Changed:
		p.Changed++
	default:
		p.Same++
	}
}

// Total is how many things change or stay by it, those that it leaves out too.
func (p *Plan) Total() int { return len(p.Lines) }

// Listed is how many things stand in a list of what the shop is made of.
func (p *Plan) Listed() int {
	c := p.Change
	return len(c.Machines) + len(c.Calendars) + len(c.Reasons) + len(c.Routes)
}

// Look says what a list comes to. What is wrong with the file is an *intake.Refused;
// it fails with KindInvalid for a kind that is none, and as the desk does.
func (s *Room) Look(kind, file string, in io.Reader) (*Plan, error) {
	p := &Plan{Kind: kind, file: file}
	switch kind {
	case "people":
		return p, s.people(p, in)
	case "batches":
		return p, s.batches(p, in)
	}
	c := &traveler.Change{From: s.Now().UTC()}
	var err error
	switch kind {
	case "machines":
		c.Machines, err = intake.Machines(file, in)
		s.machines(p, c)
	case "calendars":
		c.Calendars, err = intake.Calendars(file, in, s.ZoneName)
		s.calendars(p, c)
	case "reasons":
		c.Reasons, err = intake.Reasons(file, in)
		s.reasons(p, c)
	case "routes":
		var lines []int
		if c.Routes, lines, err = intake.RoutesAt(file, in); err == nil {
			err = s.routes(p, c, lines)
		}
	default:
		return nil, traveler.Invalid("kind", "select.choice", kind,
			"machines, calendars, reasons, people, routes, batches")
	}
	p.Change = c
	return p, err
}

// Take keeps what a list comes to, all or nothing. It fails as the desk and the tables
// do, and with the refusal of a batch that could not be changed.
func (s *Room) Take(ctx context.Context, p *Plan) error {
	switch {
	case p.Kind == "people":
		return s.takePeople(p)
	case p.Kind == "batches":
		return s.TakeBatches(ctx, p.file, p.releases, p.cards, p.updates)
	case p.Total() == 0:
		return nil
	}
	return s.Desk.Change(ctx, s.By, p.Change)
}

func num(n int) string { return strconv.Itoa(n) }

// differs says how a value changes; nothing where it is as it was.
func differs(out []string, name, before, after string) []string {
	if before == after {
		return out
	}
	return append(out, name+": "+before+" > "+after)
}
