package ground

import (
	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/iterator"
)

// node is a machine or corner that an aisle names, by its index.
type node int64

// ID makes node one of gonum's.
func (n node) ID() int64 { return int64(n) }

// way is an aisle between two nodes.
type way struct {
	from, to int
	metres   float64
}

// net is the aisles as gonum's graph/path wants them: weighted, undirected.
// gonum's own graphs keep maps of maps, which makes all pairs of a big hall
// several times slower than these lists.
type net struct {
	all  []graph.Node
	next [][]graph.Node // by node: where an aisle leads
	cost [][]float64    // by node: how far that is, metres
}

func newNet(nodes int, ways []way) *net {
	g := &net{
		all:  make([]graph.Node, nodes),
		next: make([][]graph.Node, nodes),
		cost: make([][]float64, nodes),
	}
	for i := range g.all {
		g.all[i] = node(i)
	}
	for _, w := range ways {
		g.join(w.from, w.to, w.metres)
		g.join(w.to, w.from, w.metres)
	}
	return g
}

// join adds one direction of an aisle. Of two aisles between the same ends
// the shorter one is walked.
func (g *net) join(from, to int, metres float64) {
	for i, n := range g.next[from] {
		if n.ID() == int64(to) {
			g.cost[from][i] = min(g.cost[from][i], metres)
			return
		}
	}
	g.next[from] = append(g.next[from], g.all[to])
	g.cost[from] = append(g.cost[from], metres)
}

// Node, Nodes, From, HasEdgeBetween, Edge and Weight make net a weighted graph
// of gonum's.

func (g *net) Node(id int64) graph.Node {
	if id < 0 || id >= int64(len(g.all)) {
		return nil
	}
	return g.all[id]
}

func (g *net) Nodes() graph.Nodes { return iterator.NewOrderedNodes(g.all) }

func (g *net) From(id int64) graph.Nodes {
	if len(g.next[id]) == 0 {
		return graph.Empty
	}
	return iterator.NewOrderedNodes(g.next[id])
}

func (g *net) HasEdgeBetween(x, y int64) bool {
	_, ok := g.Weight(x, y)
	return ok && x != y
}

func (g *net) Edge(x, y int64) graph.Edge {
	if !g.HasEdgeBetween(x, y) {
		return nil
	}
	return edge{g.all[x], g.all[y]}
}

func (g *net) Weight(x, y int64) (metres float64, ok bool) {
	if x == y {
		return 0, true
	}
	for i, n := range g.next[x] {
		if n.ID() == y {
			return g.cost[x][i], true
		}
	}
	return 0, false
}

type edge struct{ from, to graph.Node }

func (e edge) From() graph.Node         { return e.from }
func (e edge) To() graph.Node           { return e.to }
func (e edge) ReversedEdge() graph.Edge { return edge{e.to, e.from} }
