package ground

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/graph/path"

	"tallywalk/traveler"
)

// Map is the ground as it was at one time. It never changes and is safe for
// concurrent use. All pairs are worked out on the first question.
type Map struct {
	plan  plan
	index map[traveler.MachineID]int // of a place in plan.places

	at    []Point // of each node: machines and corners that an aisle names
	ways  []way
	loose []string
	doors []door // by place: how it reaches the aisles

	once  sync.Once
	trees []path.Shortest // by node; empty for a node that no door leads to
	table []float64       // metres between places i and j at i*len(places)+j; +Inf = no way
}

// door is where a place reaches the aisles: metres along its stub, and then
// either at a node or part of the way along an aisle.
type door struct {
	way  int // index in Map.ways; -1 = at node, or nowhere
	node int // index in Map.at; -1 = along way, or nowhere
	at   Point
	stub float64 // metres from the place to at
	part float64 // what part of the way lies before at, 0 to 1
}

// exit is a node that a door leads to, and how far it is from the place.
type exit struct {
	node   int
	metres float64
}

// New draws the map of these places and aisles.
func New(places []traveler.Machine, layout traveler.Layout) *Map {
	return newMap(newPlan(places, layout))
}

func newMap(p plan) *Map {
	m := &Map{plan: p, index: make(map[traveler.MachineID]int, len(p.places))}
	for i := range p.places {
		m.index[traveler.MachineID(p.places[i].id)] = i
	}
	named := m.lay()
	m.doors = make([]door, len(p.places))
	for i := range p.places {
		if n, ok := named[p.places[i].id]; ok {
			m.doors[i] = door{way: -1, node: n, at: m.at[n]}
			continue
		}
		m.doors[i] = m.door(p.places[i].at)
	}
	return m
}

// lay turns the aisles into ways between nodes, and says which name is which
// node. A name that is both a machine's and a corner's means the machine.
func (m *Map) lay() map[string]int {
	points := make(map[string]Point, len(m.plan.places)+len(m.plan.corners))
	for _, list := range [][]place{m.plan.corners, m.plan.places} {
		for i := range list {
			points[list[i].id] = list[i].at
		}
	}
	named := map[string]int{}
	id := func(name string) int {
		n, ok := named[name]
		if !ok {
			n = len(m.at)
			named[name] = n
			m.at = append(m.at, points[name])
		}
		return n
	}
	for _, a := range m.plan.aisles {
		if !m.known(points, a) || a.From == a.To {
			continue
		}
		metres := a.Metres
		if metres <= 0 || !finite(metres) {
			metres = straight(points[a.From], points[a.To])
		}
		m.ways = append(m.ways, way{id(a.From), id(a.To), metres})
	}
	slices.Sort(m.loose)
	return named
}

func (m *Map) known(points map[string]Point, a traveler.Aisle) bool {
	ok := true
	for _, name := range []string{a.From, a.To} {
		if _, found := points[name]; !found {
			ok = false
			if !slices.Contains(m.loose, name) {
				m.loose = append(m.loose, name)
			}
		}
	}
	return ok
}

// door finds the nearest point of the nearest aisle; of two as near, the one
// that was drawn first.
func (m *Map) door(p Point) door {
	best := door{way: -1, node: -1, stub: math.Inf(1)}
	for i, w := range m.ways {
		at, part := nearest(p, m.at[w.from], m.at[w.to])
		if d := straight(p, at); d < best.stub {
			best = door{way: i, node: -1, at: at, stub: d, part: part}
		}
	}
	return best
}

// exits are the nodes that a door leads to: one, two, or none.
func (m *Map) exits(d door) []exit {
	switch {
	case d.node >= 0:
		return []exit{{d.node, 0}}
	case d.way >= 0:
		w := m.ways[d.way]
		return []exit{
			{w.from, d.stub + d.part*w.metres},
			{w.to, d.stub + (1-d.part)*w.metres},
		}
	}
	return nil
}

// Metres is the length of the shortest walk between two places, and what it
// was measured along. It is 0 when either is unknown (then by is empty) or
// both are the same.
func (m *Map) Metres(a, b traveler.MachineID) (metres float64, by Basis) {
	i, ok1 := m.index[a]
	j, ok2 := m.index[b]
	if !ok1 || !ok2 {
		return 0, ""
	}
	m.once.Do(m.solve)
	if d := m.table[i*len(m.doors)+j]; !math.IsInf(d, 1) {
		return d, Aisles
	}
	return rectangular(m.plan.places[i].at, m.plan.places[j].at), Rectangular
}

// Loose lists the names that aisles use and that are neither a machine nor a
// corner, sorted. Such aisles are not walked.
func (m *Map) Loose() []string { return slices.Clone(m.loose) }

// Islands lists the groups of places that no aisle joins to the largest group,
// the larger ones first, each in the order in which the places were given.
// There are none while no aisles are drawn.
func (m *Map) Islands() [][]traveler.MachineID {
	if len(m.ways) == 0 {
		return nil
	}
	m.once.Do(m.solve)
	var groups [][]traveler.MachineID
	seen := make([]bool, len(m.doors))
	for i := range m.doors {
		if seen[i] {
			continue
		}
		var group []traveler.MachineID
		for j := range m.doors {
			if !math.IsInf(m.table[i*len(m.doors)+j], 1) {
				seen[j] = true
				group = append(group, traveler.MachineID(m.plan.places[j].id))
			}
		}
		groups = append(groups, group)
	}
	slices.SortStableFunc(groups, func(a, b []traveler.MachineID) int { return cmp.Compare(len(b), len(a)) })
	return groups[min(1, len(groups)):]
}
