package board

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

// Carried keeps the walks of many families added up, while families change. It
// is used by one goroutine.
type Carried struct {
	plan  *ground.Map
	legs  map[fromTo]*Leg
	of    map[traveler.Code][]passage
	dirty map[fromTo]bool
}

type fromTo struct{ from, to traveler.MachineID }

// passage is how often the batches of a family made one walk.
type passage struct {
	fromTo
	trips, batches int
}

// NewCarried keeps none yet.
func NewCarried() *Carried {
	return &Carried{legs: map[fromTo]*Leg{}, of: map[traveler.Code][]passage{}, dirty: map[fromTo]bool{}}
}

// Put takes the walks of a family in place of those it had of it.
func (c *Carried) Put(root traveler.Code, walks []Walk) {
	fresh := passages(walks)
	if slices.Equal(fresh, c.of[root]) {
		return
	}
	for _, p := range c.of[root] {
		c.add(p, -1)
	}
	delete(c.of, root)
	c.append(root, fresh)
}

// Add takes more walks of a family: those of another of its batches.
func (c *Carried) Add(root traveler.Code, walks []Walk) { c.append(root, passages(walks)) }

func (c *Carried) append(root traveler.Code, ps []passage) {
	for _, p := range ps {
		c.add(p, 1)
	}
	if len(ps) > 0 {
		c.of[root] = append(slices.Clip(c.of[root]), ps...)
	}
}

func (c *Carried) add(p passage, n int) {
	l := c.legs[p.fromTo]
	if l == nil {
		l = &Leg{Key: "leg/" + string(p.from) + ">" + string(p.to), From: p.from, To: p.to}
		c.legs[p.fromTo] = l
	}
	l.Trips, l.Batches = l.Trips+n*p.trips, l.Batches+n*p.batches
	c.dirty[p.fromTo] = true
}

// passages adds walks up by their ends.
func passages(walks []Walk) (out []passage) {
	type once struct {
		fromTo
		card traveler.Code
	}
	seen := map[once]bool{}
	for _, w := range walks {
		e := fromTo{w.From, w.To}
		i := slices.IndexFunc(out, func(p passage) bool { return p.fromTo == e })
		if i < 0 {
			i, out = len(out), append(out, passage{fromTo: e})
		}
		out[i].trips++
		if !seen[once{e, w.Card}] {
			seen[once{e, w.Card}] = true
			out[i].batches++
		}
	}
	return out
}

// Changed gives the legs that changed since the last time, and the keys of those
// that nobody walked after all. On another plan all may have.
func (c *Carried) Changed(plan *ground.Map) (set []Leg, gone []string) {
	if plan != c.plan {
		c.plan = plan
		for e := range c.legs {
			c.dirty[e] = true
		}
	}
	for e := range c.dirty {
		l := c.legs[e]
		if l.Trips == 0 {
			delete(c.legs, e)
			gone = append(gone, l.Key)
			continue
		}
		l.measure(plan)
		set = append(set, *l)
	}
	clear(c.dirty)
	return set, gone
}

// All gives every leg.
func (c *Carried) All(plan *ground.Map) []Leg {
	c.Changed(plan)
	out := make([]Leg, 0, len(c.legs))
	for _, l := range c.legs {
		out = append(out, *l)
	}
	return out
}
