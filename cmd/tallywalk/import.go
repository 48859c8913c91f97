package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/lists"
	"tallywalk/traveler/story"
)

func cmdImport(h host, args []string) error {
	f := flags(h, "import")
	dir := dataFlag(f)
	dry := f.Bool("dry-run", false, "check the file and change nothing")
	mapping := f.String("mapping", "", "for scans: a file that says what the columns of an old log are")
	zone := f.String("zone", "",
		"for scans with --mapping: the zone of the log's clock, such as Europe/Berlin (the shop's)")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if len(words) != 2 {
		return &usageError{"say what is imported and the file, such as: import machines machines.csv"}
	}
	req := request{Do: "import", Kind: words[0], File: words[1], DryRun: *dry, MapName: *mapping, Zone: *zone}
	if !slices.Contains(
		[]string{"machines", "corners", "aisles", "calendars", "routes", "batches", "reasons", "people",
			"scans"}, req.Kind) {
		return &usageError{fmt.Sprintf("%q is no list that can be imported", req.Kind)}
	}
	if (*mapping != "" && req.Kind != "scans") || (*zone != "" && *mapping == "") {
		return &usageError{"--mapping is for scans, and --zone goes with it"}
	}
	if *mapping != "" {
		if req.Mapping, err = readMapping(*mapping); err != nil {
			return err
		}
	}
	if err := needData(*dir); err != nil {
		return err
	}
	in := h.in
	if words[1] != "-" {
		file, err := os.Open(words[1])
		if err != nil {
			return fmt.Errorf("the file %s cannot be read: %w", words[1], errors.Unwrap(err))
		}
		defer func() { _ = file.Close() }()
		in = file
	}
	return at(h, *dir, req, in)
}

var importer = traveler.Actor{Name: "import", Role: traveler.RoleAdministrator}

func (hs *house) doImport(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	switch req.Kind {
	case "corners", "aisles":
		return hs.importGround(ctx, req, in, out)
	case "scans":
		if req.MapName != "" {
			return hs.importLog(ctx, req, in, out)
		}
		return hs.importScans(ctx, req, in, out)
	}
	room, err := hs.lists()
	if err != nil {
		return err
	}
	p, err := room.Look(req.Kind, req.File, in)
	if err != nil {
		return err
	}
	if !req.DryRun {
		if err := room.Take(ctx, p); err != nil {
			return err
		}
	}
	switch req.Kind {
	case "batches":
		fmt.Fprintf(out, "%d batches %s, %d updated, %d as they were\n", p.New, done(req, "released"),
			p.Changed, p.Same)
		return nil
	case "people":
		fmt.Fprintf(out, "%d people %s\n", p.Total(), done(req, "imported"))
		return nil
	}
	hs.sayImported(req, p.Listed(), p.Change, out)
	return nil
}

// sayImported says how many of a list were kept, and what of the shop does not hang
// together.
func (hs *house) sayImported(req request, n int, c *traveler.Change, out io.Writer) {
	fmt.Fprintf(out, "%d %s %s\n", n, req.Kind, done(req, "imported"))
	hs.warnCentres(c, out)
	hs.warnGround(out)
}

// lists is where lists are taken.
func (hs *house) lists() (*lists.Room, error) {
	set, err := hs.settings()
	if err != nil {
		return nil, err
	}
	zone, err := zoneOf(set.Zone)
	if err != nil {
		return nil, err
	}
	var to story.Desk = hs.desk
	if hs.served != nil {
		to = hs.served
	}
	return &lists.Room{
		Desk: to, Tables: hs.tables, Zone: zone, ZoneName: set.Zone, Now: hs.host.now, Random: hs.host.rand,
		By: importer,
	}, nil
}

func done(req request, word string) string {
	if req.DryRun {
		return "would be " + word
	}
	return word
}

// warnCentres names work centres of routes that no machine does yet.
func (hs *house) warnCentres(c *traveler.Change, out io.Writer) {
	shop, warned := hs.desk.Shop(), map[traveler.WorkCentre]bool{}
	for _, r := range c.Routes {
		for _, o := range r.Operations {
			able := o.Outside() || warned[o.WorkCentre]
			for _, m := range shop.Machines(c.From) {
				able = able || shop.CanWork(m.ID, o.WorkCentre, c.From)
			}
			if !able {
				warned[o.WorkCentre] = true
				fmt.Fprintf(out,
					"note: no machine does work centre %s yet (route %s of %s); import it with the machines\n", o.WorkCentre, r.Rev, r.Part)
			}
		}
	}
}
