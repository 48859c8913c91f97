package webtest

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/people"
)

// importer is who the example shop comes from.
var importer = traveler.Actor{Name: traveler.Importer, Role: traveler.RoleAdministrator}

// list reads a list of the example shop.
func list[T any](t testing.TB, root, name string, read func(file string, r *bytes.Reader) ([]T, error)) []T {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(root, "testdata", "example", name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	out, err := read(name, bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// example puts the example shop in: its machines, reasons, routes, people and
// batches. Ids and badges are the same each time.
func (r *Rig) example() {
	r.T.Helper()
	from := r.now().AddDate(0, 0, -7)
	c := &traveler.Change{From: from}
	c.Machines = list(
		r.T, r.root, "machines",
		func(f string, in *bytes.Reader) ([]traveler.Machine, error) { return intake.Machines(f, in) },
	)
	c.Reasons = list(
		r.T, r.root, "reasons",
		func(f string, in *bytes.Reader) ([]traveler.Reason, error) { return intake.Reasons(f, in) },
	)
	c.Routes = list(
		r.T, r.root, "routes",
		func(f string, in *bytes.Reader) ([]traveler.Route, error) { return intake.Routes(f, in) },
	)
	if err := r.Desk.Change(context.Background(), importer, c); err != nil {
		r.T.Fatal(err)
	}
	for i, p := range list(
		r.T, r.root, "people",
		func(f string, in *bytes.Reader) ([]intake.Person, error) { return intake.People(f, in) },
	) {
		row := people.Person{ID: p.ID, Code: code(traveler.KindPerson, uint64(i)), Name: p.Name, Role: p.Role}
		if err := people.Put(r.Tables, row, "", r.now()); err != nil {
			r.T.Fatal(err)
		}
	}
	var releases []traveler.Release
	var cards []traveler.Code
	for i, b := range list(
		r.T, r.root, "batches",
		func(f string, in *bytes.Reader) ([]intake.Batch, error) { return intake.Batches(f, in, time.UTC) },
	) {
		b.Release.ID = ID(1000 + i)
		releases, cards = append(releases, b.Release), append(cards, code(traveler.KindBatch, uint64(i)))
	}
	answers, err := r.Desk.Release(context.Background(), importer, releases, cards)
	if err != nil {
		r.T.Fatal(err)
	}
	for i := range answers {
		if answers[i].Err != nil {
			r.T.Fatal(answers[i].Err)
		}
	}
}

// Import puts a list into the shop, written as for the command that imports it:
// machines, routes, reasons or calendars.
func (r *Rig) Import(kind, text string) {
	r.T.Helper()
	c, in := &traveler.Change{From: r.now().UTC()}, strings.NewReader(text)
	var err error
	switch kind {
	case "machines":
		c.Machines, err = intake.Machines(kind, in)
	case "routes":
		c.Routes, err = intake.Routes(kind, in)
	case "reasons":
		c.Reasons, err = intake.Reasons(kind, in)
	case "calendars":
		c.Calendars, err = intake.Calendars(kind, in, "UTC")
	default:
		r.T.Fatalf("there is no list of %s", kind)
	}
	if err == nil {
		err = r.Desk.Change(context.Background(), importer, c)
	}
	if err != nil {
		r.T.Fatal(err)
	}
}

// Example is a list of the example shop.
func (r *Rig) Example(name string) string {
	r.T.Helper()
	raw, err := os.ReadFile(filepath.Join(r.root, "testdata", "example", name))
	if err != nil {
		r.T.Fatal(err)
	}
	return string(raw)
}

// code is the n-th code of a kind, some apart.
func code(kind traveler.Kind, n uint64) traveler.Code {
	for i := n*1000 + 4711; ; i++ {
		if c, ok := traveler.NewCode(kind, i); ok {
			return c
		}
	}
}

// ID is the n-th id of scans and releases.
func ID(n int) traveler.ScanID {
	return traveler.ScanID(fmt.Sprintf("018f3b6e-7c1a-7b3e-9c4d-%012x", n))
}
