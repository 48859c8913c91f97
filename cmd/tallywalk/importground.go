package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/intake"
)

// importGround takes a list of corners or of aisles.
func (hs *house) importGround(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	c := &traveler.Change{From: hs.host.now().UTC()}
	var n int
	var err error
	if c.Layout, n, err = hs.layoutWith(req, in, c.From); err != nil {
		return err
	}
	if !req.DryRun && n > 0 {
		if err := hs.desk.Change(ctx, importer, c); err != nil {
			return err
		}
	}
	hs.sayImported(req, n, c, out)
	return nil
}

// layoutWith is the plan of the floor with the corners or the aisles of a list
// in place of those it had.
func (hs *house) layoutWith(req request, in io.Reader, from time.Time) (*traveler.Layout, int, error) {
	shop := hs.desk.Shop()
	l := shop.Layout(from)
	if req.Kind == "corners" {
		corners, err := intake.Corners(req.File, in)
		if err != nil {
			return nil, 0, err
		}
		l.Corners = corners
		return &l, len(corners), nil
	}
	aisles, err := intake.Aisles(req.File, in)
	if err != nil {
		return nil, 0, err
	}
	l.Aisles = aisles
	if loose := ground.New(shop.Machines(from), l).Loose(); len(loose) > 0 {
		return nil, 0, fmt.Errorf("%s: there is no machine or corner %s; import machines and corners first",
			req.File, strings.Join(loose, ", "))
	}
	return &l, len(aisles), nil
}

// warnGround names what an import has left hanging: aisles that lead nowhere,
// and calendars that machines name and nobody wrote down.
func (hs *house) warnGround(out io.Writer) {
	shop, now := hs.desk.Shop(), hs.host.now()
	if loose := ground.New(shop.Machines(now), shop.Layout(now)).Loose(); len(loose) > 0 {
		fmt.Fprintf(out,
			"note: aisles lead to %s, which is no machine or corner any more; import the aisles again\n",
			strings.Join(loose, ", "))
	}
	written := map[string]bool{}
	for _, k := range shop.Calendars(now) {
		written[k.Name] = true
	}
	for _, m := range shop.Machines(now) {
		if m.Calendar != "" && !written[m.Calendar] {
			written[m.Calendar] = true
			fmt.Fprintf(out,
				"note: calendar %s of machine %s is not known, so it counts as always open; import calendars\n", m.Calendar, m.ID)
		}
	}
}
