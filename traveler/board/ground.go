package board

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

// Place is what the ground board shows at one place: what goes on there, and
// what lies there and waits.
type Place struct {
	Key        string              `json:"-"` // the row's name on the board: place/ID
	Machine    traveler.MachineID  `json:"machine"`
	Name       string              `json:"name"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	PlaceKind  string              `json:"place_kind,omitempty"`
	X          float64             `json:"x_m"`
	Y          float64             `json:"y_m"`
	State      string              `json:"state"` // free, or the state of the work that says most
	Card       traveler.Code       `json:"card,omitempty"`
	WorksOrder string              `json:"works_order,omitempty"`
	Part       string              `json:"part,omitempty"`
	Operation  traveler.Op         `json:"operation,omitempty"`
	Since      time.Time           `json:"since,omitzero"`
	Reason     string              `json:"reason,omitempty"`
	Works      int                 `json:"works"`  // batches worked on here
	Waits      int                 `json:"waits"`  // batches that lie here and wait
	Pieces     int                 `json:"pieces"` // of those
	Late       int                 `json:"late"`   // of those
	Held       int                 `json:"held"`   // of those
	Oldest     time.Time           `json:"oldest,omitzero"`
}

// StateFree is the state of a place where nothing goes on.
const StateFree = "free"

var stateRank = map[string]int{
	string(traveler.VisitRunning): 6, string(traveler.VisitSetting): 5, string(traveler.VisitFirstOff): 4,
	string(traveler.VisitReady): 3, string(traveler.VisitStopped): 2, string(traveler.VisitOutside): 1,
}

// Places gives a row for every place of the shop, from the rows of the waits
// board. A batch that was never carried lies in the stores, if there are any:
// unplaced counts those for which nobody can say.
func Places(shop *traveler.Shop, rows []Row, now time.Time) (out []Place, unplaced int) {
	at := map[traveler.MachineID]int{}
	stores := traveler.MachineID("")
	for _, m := range shop.Machines(now) {
		at[m.ID] = len(out)
		if m.Kind == "stores" && stores == "" {
			stores = m.ID
		}
		out = append(out, Place{
			Key: "place/" + string(m.ID), Machine: m.ID, Name: m.Name, WorkCentre: m.WorkCentre,
			PlaceKind: m.Kind, X: m.X, Y: m.Y, State: StateFree,
		})
	}
	for i := range rows {
		r := &rows[i]
		if r.Kind == "work" {
			if k, ok := at[r.Machine]; ok {
				out[k].work(r)
			}
			continue
		}
		lies := r.Place
		if r.Arrived && r.Machine != "" {
			lies = r.Machine
		}
		if lies == "" {
			lies = stores
		}
		if k, ok := at[lies]; ok {
			out[k].wait(r)
		} else {
			unplaced++
		}
	}
	return out, unplaced
}

func (p *Place) work(r *Row) {
	p.Works++
	if stateRank[r.State] <= stateRank[p.State] {
		return
	}
	p.State, p.Card, p.WorksOrder, p.Part, p.Operation, p.Since, p.Reason = r.State, r.Card, r.WorksOrder, r.Part, r.Operation, r.Since, r.Reason
}

func (p *Place) wait(r *Row) {
	p.Waits++
	p.Pieces += r.Pieces
	if r.Late {
		p.Late++
	}
	if r.State == "held" {
		p.Held++
	}
	if p.Oldest.IsZero() || r.Since.Before(p.Oldest) {
		p.Oldest = r.Since
	}
}

// Totals is what all places say together. A batch that waits in two places
// counts once.
type Totals struct {
	Waits int `json:"waits"` // batches that wait
	Late  int `json:"late"`  // of those
	Held  int `json:"held"`  // of those
	Works int `json:"works"` // batches worked on
}

// Total counts the batches of the rows of the waits board.
func Total(rows []Row) Totals {
	waits, late, held, works := map[traveler.Code]bool{}, map[traveler.Code]bool{}, map[traveler.Code]bool{}, map[traveler.Code]bool{}
	for i := range rows {
		r := &rows[i]
		if r.Kind == "work" {
			works[r.Card] = true
			continue
		}
		waits[r.Card] = true
		if r.Late {
			late[r.Card] = true
		}
		if r.State == "held" {
			held[r.Card] = true
		}
	}
	return Totals{len(waits), len(late), len(held), len(works)}
}

// Leg is a walk between two places, and how often it was made.
type Leg struct {
	Key     string             `json:"-"` // the row's name on the board: leg/A>B
	From    traveler.MachineID `json:"from"`
	To      traveler.MachineID `json:"to"`
	Trips   int                `json:"trips"`
	Batches int                `json:"batches"`
	Metres  float64            `json:"metres"` // once
	By      ground.Basis       `json:"by"`
	Path    string             `json:"path"` // points as "x,y x,y", metres
}

// Walk is one trip of a batch, as the walks of many are added up.
type Walk struct {
	Card     traveler.Code
	From, To traveler.MachineID
	At       time.Time
}

// WalksOf lists the trips of a batch within a period; a zero bound is none.
func WalksOf(b *traveler.BatchFact, from, to time.Time) []Walk {
	var out []Walk
	for i := range b.Trip {
		t := &b.Trip[i]
		if t.At.Before(from) || !to.IsZero() && !t.At.Before(to) {
			continue
		}
		out = append(out, Walk{b.Card, t.From, t.To, t.At})
	}
	return out
}

// Legs adds walks up by their ends, the most walked first. Lengths and paths
// are those of the plan as it is now.
func Legs(plan *ground.Map, walks []Walk) []Leg {
	type ends struct{ from, to traveler.MachineID }
	at := map[ends]int{}
	last := map[ends]map[traveler.Code]bool{}
	var out []Leg
	for _, w := range walks {
		k := ends{w.From, w.To}
		i, ok := at[k]
		if !ok {
			i = len(out)
			at[k] = i
			last[k] = map[traveler.Code]bool{}
			m, by := plan.Metres(w.From, w.To)
			out = append(out, Leg{
				Key: "leg/" + string(w.From) + ">" + string(w.To), From: w.From, To: w.To, Metres: m, By: by,
				Path: pathText(plan.Path(w.From, w.To)),
			})
		}
		out[i].Trips++
		if !last[k][w.Card] {
			last[k][w.Card] = true
			out[i].Batches++
		}
	}
	slices.SortFunc(out, func(a, b Leg) int {
		if a.Trips != b.Trips {
			return b.Trips - a.Trips
		}
		return strings.Compare(a.Key, b.Key)
	})
	return out
}

func pathText(points []ground.Point) string {
	var w strings.Builder
	for i, p := range points {
		if i > 0 {
			w.WriteByte(' ')
		}
		fmt.Fprintf(&w, "%g,%g", round(p.X), round(p.Y))
	}
	return w.String()
}

// round keeps centimetres; places left of or above the origin count below zero.
func round(m float64) float64 { return math.Round(m*100) / 100 }
