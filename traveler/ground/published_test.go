package ground_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

type arc struct {
	from, to string
	metres   float64
}

// Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, 3rd ed.,
// Fig. 24.6 (second-hand) and Fig. 25.1 (from memory), worked out again.
func fig246() []arc {
	return []arc{{"s", "t", 10}, {"s", "y", 5}, {"t", "x", 1}, {"t", "y", 2}, {"x", "z", 4},
		{"y", "t", 3}, {"y", "x", 9}, {"y", "z", 2}, {"z", "s", 7}, {"z", "x", 6}}
}

func fig251() []arc {
	return []arc{{"1", "2", 3}, {"1", "3", 8}, {"1", "5", -4}, {"2", "4", 1}, {"2", "5", 7},
		{"3", "2", 4}, {"4", "1", 2}, {"4", "3", -5}, {"5", "4", 6}}
}

var fig251Distances = [5][5]float64{{0, 1, -3, 2, -4}, {3, 0, -4, 1, -1}, {7, 4, 0, 5, 3}, {2, -1, -5, 0, -2},
	{8, 5, 1, 6, 0}}

func directed(arcs []arc, id map[string]int64) *simple.WeightedDirectedGraph {
	g := simple.NewWeightedDirectedGraph(0, math.Inf(1))
	for _, a := range arcs {
		g.SetWeightedEdge(
			simple.WeightedEdge{F: simple.Node(id[a.from]), T: simple.Node(id[a.to]), W: a.metres})
	}
	return g
}

// The routine that our walks rest on, on the book's own directed graph.
func TestDijkstraOfTheBook(t *testing.T) {
	id := map[string]int64{"s": 0, "t": 1, "x": 2, "y": 3, "z": 4}
	tree := path.DijkstraFrom(simple.Node(0), directed(fig246(), id))
	for name, want := range map[string]float64{"s": 0, "t": 8, "x": 9, "y": 5, "z": 7} {
		if got := tree.WeightTo(id[name]); got != want {
			t.Errorf("s to %s: %v, want %v", name, got, want)
		}
	}
}

// Fig. 25.1 has negative weights, which aisles have not. Johnson's way (Fig.
// 25.6) makes them non-negative: w + h(u) - h(v), with h the shortest path
// into each node from outside, here the least of its column and 0.
func TestDijkstraOfAllPairsOfTheBook(t *testing.T) {
	id := map[string]int64{"1": 0, "2": 1, "3": 2, "4": 3, "5": 4}
	h := []float64{0, -1, -5, 0, -4}
	arcs := fig251()
	for i, a := range arcs {
		arcs[i].metres += h[id[a.from]] - h[id[a.to]]
	}
	g := directed(arcs, id)
	for u, row := range fig251Distances {
		tree := path.DijkstraFrom(simple.Node(u), g)
		for v, want := range row {
			if got := tree.WeightTo(int64(v)) - h[u] + h[v]; got != want {
				t.Errorf("%d to %d: %v, want %v", u+1, v+1, got, want)
			}
		}
	}
}

// floydWarshall is all pairs written plainly, as the measure for Map.
func floydWarshall(n int, w func(i, j int) float64) [][]float64 {
	d := make([][]float64, n)
	for i := range d {
		d[i] = make([]float64, n)
		for j := range d[i] {
			d[i][j] = w(i, j)
		}
		d[i][i] = 0
	}
	for k := range n {
		for i := range n {
			for j := range n {
				d[i][j] = min(d[i][j], d[i][k]+d[k][j])
			}
		}
	}
	return d
}

func weights(arcs []arc, names []string, undirected bool) func(i, j int) float64 {
	return func(i, j int) float64 {
		w := math.Inf(1)
		for _, a := range arcs {
			if a.from == names[i] && a.to == names[j] ||
				undirected && a.from == names[j] && a.to == names[i] {
				w = min(w, a.metres)
			}
		}
		return w
	}
}

// The measure itself is held against the book first.
func TestFloydWarshallOfTheBook(t *testing.T) {
	got := floydWarshall(5, weights(fig251(), []string{"1", "2", "3", "4", "5"}, false))
	for u, row := range fig251Distances {
		for v, want := range row {
			if got[u][v] != want {
				t.Errorf("%d to %d: %v, want %v", u+1, v+1, got[u][v], want)
			}
		}
	}
}

// The book's graphs as aisles: in both directions, without their signs.
func TestBookGraphsAsAisles(t *testing.T) {
	for name, c := range map[string]struct {
		arcs  []arc
		names []string
	}{
		"Fig. 24.6": {fig246(), []string{"s", "t", "x", "y", "z"}},
		"Fig. 25.1": {fig251(), []string{"1", "2", "3", "4", "5"}},
	} {
		var places []traveler.Machine
		for i, n := range c.names {
			places = append(places, at(n, float64(i), float64(i*i)))
		}
		var layout traveler.Layout
		for i, a := range c.arcs {
			c.arcs[i].metres = math.Abs(a.metres)
			layout.Aisles = append(layout.Aisles,
				traveler.Aisle{From: a.from, To: a.to, Metres: math.Abs(a.metres)})
		}
		m := ground.New(places, layout)
		want := floydWarshall(len(c.names), weights(c.arcs, c.names, true))
		for i, a := range c.names {
			for j, b := range c.names {
				got, by := m.Metres(traveler.MachineID(a), traveler.MachineID(b))
				if got != want[i][j] || by != ground.Aisles {
					t.Errorf("%s, %s to %s: %v by %s, want %v", name, a, b, got, by, want[i][j])
				}
			}
		}
	}
}

// Fifty-eight aisles at random, some with a length of their own, some twice,
// in several islands; the distances are those of networkx, which wrote them
// into the file.
func TestAgainstNetworkx(t *testing.T) {
	raw, err := os.ReadFile("testdata/networkx.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Places []traveler.Machine
		Aisles []traveler.Aisle
		Metres [][]float64
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	m := ground.New(file.Places, traveler.Layout{Aisles: file.Aisles})
	compared := 0
	for i := range file.Places {
		for j := range file.Places {
			got, by := m.Metres(file.Places[i].ID, file.Places[j].ID)
			want := file.Metres[i][j]
			switch {
			case want < 0 && by != ground.Rectangular:
				t.Errorf("%s to %s: a way that is not there", file.Places[i].ID, file.Places[j].ID)
			case want >= 0 && (math.Abs(got-want) > 1e-6 || by != ground.Aisles):
				t.Errorf("%s to %s: %v by %s, want %v", file.Places[i].ID, file.Places[j].ID, got, by, want)
			}
			compared++
		}
	}
	if compared < 1000 {
		t.Errorf("compared only %d pairs", compared)
	}
}
