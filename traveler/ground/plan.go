package ground

import (
	"math"
	"slices"

	"tallywalk/traveler"
)

// place is a machine or corner with its point.
type place struct {
	id string
	at Point
}

// plan is what a map is made from, and all that two equal maps must agree in.
type plan struct {
	places  []place
	corners []place
	aisles  []traveler.Aisle
}

// newPlan takes what counts for walks. What has no finite place is unknown;
// of things with the same name the last one holds.
func newPlan(places []traveler.Machine, layout traveler.Layout) plan {
	p := plan{aisles: slices.Clone(layout.Aisles)}
	for i := range places {
		p.places = keep(p.places, place{string(places[i].ID), Point{places[i].X, places[i].Y}})
	}
	for _, c := range layout.Corners {
		p.corners = keep(p.corners, place{c.ID, Point{c.X, c.Y}})
	}
	p.places, p.corners = lastOnly(p.places), lastOnly(p.corners)
	return p
}

func keep(list []place, p place) []place {
	if !finite(p.at.X) || !finite(p.at.Y) {
		return list
	}
	return append(list, p)
}

func lastOnly(list []place) []place {
	last := make(map[string]int, len(list))
	for i := range list {
		last[list[i].id] = i
	}
	out := list[:0:0]
	for i := range list {
		if last[list[i].id] == i {
			out = append(out, list[i])
		}
	}
	return out
}

func (p plan) equal(o plan) bool {
	return slices.Equal(p.places, o.places) &&
		slices.Equal(p.corners, o.corners) &&
		slices.Equal(p.aisles, o.aisles)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func straight(a, b Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

func rectangular(a, b Point) float64 { return math.Abs(a.X-b.X) + math.Abs(a.Y-b.Y) }

// nearest is the point of the line from a to b that is nearest to p, and what
// part of the line lies before it.
func nearest(p, a, b Point) (at Point, part float64) {
	dx, dy := b.X-a.X, b.Y-a.Y
	square := dx*dx + dy*dy
	if square == 0 {
		return a, 0
	}
	part = min(1, max(0, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/square))
	return Point{a.X + part*dx, a.Y + part*dy}, part
}
