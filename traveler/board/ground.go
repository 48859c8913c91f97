package board

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/story"
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
	Asks       int                 `json:"asks"`               // of those: pieces that wait for a decision
	LateFrom   time.Time           `json:"late_from,omitzero"` // the first of all here, as of the waits board
	LongFrom   time.Time           `json:"long_from,omitzero"` // the same
	OverFrom   time.Time           `json:"over_from,omitzero"` // the same
	WorkLate   bool                `json:"work_late"`          // what is worked on here is late
}

// StateFree is the state of a place where nothing goes on.
const StateFree = "free"

var stateRank = map[string]int{
	string(story.VisitRunning): 6, string(story.VisitSetting): 5, string(story.VisitFirstOff): 4,
	string(story.VisitReady): 3, string(story.VisitStopped): 2, string(story.VisitOutside): 1,
}

// Places gives a row for every place of the shop, from the rows of the waits
// board. A batch that was never carried lies in the stores, if there are any:
// unplaced counts those for which nobody can say.
func Places(shop *traveler.Shop, rows []Row, now time.Time) (out []Place, unplaced int) {
	s := NewStanding(shop, now)
	s.Put("", rows)
	return s.All(), s.Unplaced()
}

// Totals is what all places say together. A batch that waits in two places
// counts once.
type Totals struct {
	Waits int `json:"waits"` // batches that wait
	Late  int `json:"late"`  // of those
	Held  int `json:"held"`  // of those
	Works int `json:"works"` // batches at work here
	Away  int `json:"away"`  // batches that are outside: that is no work of the shop
}

// Total counts the batches of the rows of the waits board.
func Total(rows []Row) Totals {
	waits, late, held := map[traveler.Code]bool{}, map[traveler.Code]bool{}, map[traveler.Code]bool{}
	works, away := map[traveler.Code]bool{}, map[traveler.Code]bool{}
	for i := range rows {
		r := &rows[i]
		switch {
		case r.Outside():
			away[r.Card] = true
			continue
		case r.Kind == "work":
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
	return Totals{len(waits), len(late), len(held), len(works), len(away)}
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
	Leg      story.Leg
}

// WalksOf lists the trips of a batch within a period; a zero bound is none.
func WalksOf(b *story.BatchFact, from, to time.Time) []Walk {
	var out []Walk
	for i := range b.Trip {
		t := &b.Trip[i]
		if t.At.Before(from) || !to.IsZero() && !t.At.Before(to) {
			continue
		}
		out = append(out, Walk{b.Card, t.From, t.To, t.At, t.Leg})
	}
	return out
}

// Legs adds walks up by their ends, the most walked first. Lengths and paths
// are those of the plan as it is now.
func Legs(plan *ground.Map, walks []Walk) []Leg {
	c := NewCarried()
	c.Put("", walks)
	out := c.All(plan)
	slices.SortFunc(out,
		func(a, b Leg) int { return cmp.Or(cmp.Compare(b.Trips, a.Trips), strings.Compare(a.Key, b.Key)) })
	return out
}

// measure notes how long a leg is, and where it leads.
func (l *Leg) measure(plan *ground.Map) {
	l.Metres, l.By = plan.Metres(l.From, l.To)
	l.Path = pathText(plan.Path(l.From, l.To))
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
