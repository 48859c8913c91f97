package ground

import (
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/graph/path"

	"tallywalk/traveler"
)

// solve works out all pairs of places: Dijkstra from every node that a door
// leads to, then for each pair the best of at most four ways out and in.
func (m *Map) solve() {
	exits := make([][]exit, len(m.doors))
	wanted := make([]bool, len(m.at))
	for i := range m.doors {
		exits[i] = m.exits(m.doors[i])
		for _, e := range exits[i] {
			wanted[e.node] = true
		}
	}
	m.grow(wanted)
	n := len(m.doors)
	m.table = make([]float64, n*n)
	for i := range n {
		for j := i + 1; j < n; j++ {
			// One direction only, so that there and back is the same to
			// the last bit.
			d, _, _ := m.best(i, j, exits[i], exits[j])
			m.table[i*n+j], m.table[j*n+i] = d, d
		}
	}
}

// grow makes the trees of shortest walks from the wanted nodes, on all cores:
// a hall whose aisles name every machine has many.
func (m *Map) grow(wanted []bool) {
	g := newNet(len(m.at), m.ways)
	m.trees = make([]path.Shortest, len(m.at))
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(m.at)) {
		wg.Go(func() {
			for n := int(next.Add(1)) - 1; n < len(wanted); n = int(next.Add(1)) - 1 {
				if wanted[n] {
					m.trees[n] = path.DijkstraFrom(node(n), g)
				}
			}
		})
	}
	wg.Wait()
}

// best is the shortest walk from place i to place j, with the nodes where it
// leaves the first aisle and enters the last; -1 when it needs none because
// both doors are on one aisle. +Inf when no way joins them.
func (m *Map) best(i, j int, from, to []exit) (metres float64, out, in int) {
	metres, out, in = m.along(m.doors[i], m.doors[j]), -1, -1
	for _, a := range from {
		for _, b := range to {
			between := 0.0
			if a.node != b.node {
				between = m.trees[a.node].WeightTo(int64(b.node))
			}
			if d := a.metres + between + b.metres; d < metres {
				metres, out, in = d, a.node, b.node
			}
		}
	}
	return metres, out, in
}

// along is the walk between two doors on the same aisle without leaving it.
func (m *Map) along(a, b door) float64 {
	if a.way < 0 || a.way != b.way {
		return math.Inf(1)
	}
	return a.stub + math.Abs(a.part-b.part)*m.ways[a.way].metres + b.stub
}

// Path is the shortest walk from a to b as it is drawn on the plan, from place
// to place: along the aisles, or the two legs of the rectangular walk, along x
// first. It is nil when either is unknown or both are the same.
func (m *Map) Path(a, b traveler.MachineID) []Point {
	i, ok1 := m.index[a]
	j, ok2 := m.index[b]
	if !ok1 || !ok2 || i == j {
		return nil
	}
	if _, by := m.Metres(a, b); by == Rectangular {
		from, to := m.plan.places[i].at, m.plan.places[j].at
		return tidy([]Point{from, {to.X, from.Y}, to})
	}
	if i < j {
		return m.trace(i, j)
	}
	points := m.trace(j, i)
	slices.Reverse(points)
	return points
}

func (m *Map) trace(i, j int) []Point {
	_, out, in := m.best(i, j, m.exits(m.doors[i]), m.exits(m.doors[j]))
	points := []Point{m.plan.places[i].at, m.doors[i].at}
	if out >= 0 {
		nodes, _ := m.trees[out].To(int64(in))
		for _, n := range nodes {
			points = append(points, m.at[n.ID()])
		}
	}
	return tidy(append(points, m.doors[j].at, m.plan.places[j].at))
}

// tidy leaves out points where the walk does not move, but keeps both ends.
func tidy(points []Point) []Point {
	moved := slices.Compact(slices.Clone(points))
	if len(moved) == 1 {
		return []Point{moved[0], moved[0]}
	}
	return moved
}
