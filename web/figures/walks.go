package figures

import (
	"cmp"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/story"
)

// walksView is how far the batches of a choice were carried. A trip is one
// handling: the batch is picked up, carried, and put down.
type walksView struct {
	Batches     int         `json:"batches"` // that were carried, in the period if there is one
	Trips       int         `json:"trips"`
	Rectangular int         `json:"rectangular"` // of the trips, those that no aisle joins
	Metres      float64     `json:"metres"`
	Parts       walkParts   `json:"parts"`            // of trips and metres, what joins stores, dock or outside work
	PerBatch    *float64    `json:"metres_per_batch"` // here and below: whole walks of those that ended
	TripsEach   *float64    `json:"trips_per_batch"`
	Ended       int         `json:"ended"` // batches that were done in the period and joined no other
	Good        int         `json:"good"`  // good pieces of those
	PerGood     *float64    `json:"metres_per_good"`
	TripsGood   *float64    `json:"trips_per_good"`
	By          string      `json:"by"` // aisles, or rectangular when some trip was
	Legs        []board.Leg `json:"legs"`

	done, joined sum // whole walks of the batches that are done; of those that joined another
}

// walkParts are the trips by what they join, the rest being between machines,
// benches and rooms where work is done.
type walkParts struct {
	StoresTrips  int     `json:"stores_trips"`
	Stores       float64 `json:"stores_m"`
	DockTrips    int     `json:"dock_trips"`
	Dock         float64 `json:"dock_m"`
	OutsideTrips int     `json:"outside_trips"`
	Outside      float64 `json:"outside_m"`
}

func (p *walkParts) add(leg story.Leg, metres float64) {
	switch leg {
	case story.LegStores:
		p.StoresTrips, p.Stores = p.StoresTrips+1, p.Stores+metres
	case story.LegDock:
		p.DockTrips, p.Dock = p.DockTrips+1, p.Dock+metres
	case story.LegOutside:
		p.OutsideTrips, p.Outside = p.OutsideTrips+1, p.Outside+metres
	}
}

// getWalks adds up the walks of a batch, a part, a route, or of a period. Each
// walk has the length it had when it was made; the paths are those of today.
func (s *room) getWalks(c *fiber.Ctx) error {
	sel, err := s.chosen(c)
	if err != nil {
		return err
	}
	v := walksView{By: string(ground.Aisles), Legs: []board.Leg{}}
	var walks []board.Walk
	shop := s.Desk.Shop()
	err = sel.each(s, func(b *story.BatchFact) bool {
		own := board.WalksOf(b, sel.from, sel.to)
		walks = append(walks, own...)
		if len(own) > 0 || !sel.window {
			v.add(s.measured(shop, own, &v.Parts))
		}
		if b.State == story.StateDone && sel.holds(b.Ended) {
			v.ended(b)
		}
		return true
	})
	if err != nil {
		return err
	}
	v.divide(sel.card != "")
	v.Legs = append(v.Legs, board.Legs(s.Floors.At(shop, s.Time()), walks)...)
	return c.JSON(v)
}

// sum is the length of some trips.
type sum struct {
	trips, rectangular int
	metres             float64
}

func (s *room) measured(shop *traveler.Shop, walks []board.Walk, parts *walkParts) (out sum) {
	out.trips = len(walks)
	for _, w := range walks {
		m, by := s.Floors.Metres(shop, w.From, w.To, w.At)
		out.metres += m
		parts.add(w.Leg, m)
		if by == ground.Rectangular {
			out.rectangular++
		}
	}
	return out
}

// add counts one more batch with its trips.
func (v *walksView) add(own sum) {
	v.Batches++
	v.Trips += own.trips
	v.Rectangular += own.rectangular
	v.Metres += own.metres
	if own.rectangular > 0 {
		v.By = string(ground.Rectangular)
	}
}

// ended counts a batch that came to its end, with its whole walk: what a good
// piece costs is not known before, and not known from a part of the way. One
// that joined another is carried with it from there on: its walk belongs to the
// good pieces, but is no whole walk of a batch.
func (v *walksView) ended(b *story.BatchFact) {
	to := &v.done
	if b.Joined != "" {
		to = &v.joined
	} else {
		v.Ended++
	}
	v.Good += b.Good
	to.trips += len(b.Trip)
	to.metres += b.Metres
}

// divide works the means out; of one batch that is asked for by itself, what it
// has walked so far is all there is.
func (v *walksView) divide(alone bool) {
	if alone && v.Batches > 0 {
		v.PerBatch, v.TripsEach = per(v.Metres, v.Batches), per(float64(v.Trips), v.Batches)
	} else if v.Ended > 0 {
		v.PerBatch, v.TripsEach = per(v.done.metres, v.Ended), per(float64(v.done.trips), v.Ended)
	}
	if v.Good > 0 {
		v.PerGood, v.TripsGood = per(v.done.metres+v.joined.metres,
			v.Good), per(float64(v.done.trips+v.joined.trips), v.Good)
	}
}

func per(x float64, n int) *float64 {
	x /= float64(n)
	return &x
}

// choice is which batches a page asks about.
type choice struct {
	card      traveler.Code
	part, rev string
	from, to  time.Time
	window    bool // a period was named: only walks within it
}

// holds reports whether a moment lies in the period of the choice.
func (sel *choice) holds(t time.Time) bool {
	return !t.Before(sel.from) && (sel.to.IsZero() || t.Before(sel.to))
}

func (s *room) chosen(c *fiber.Ctx) (choice, error) {
	sel := choice{part: c.Query("part"), rev: c.Query("route_rev")}
	if ref := c.Query("batch"); ref != "" {
		f, i, err := s.FamilyOf(ref)
		if err != nil {
			return sel, err
		}
		sel.card, sel.part = f.Batches[i].Card, f.Batches[i].Part
	}
	for _, b := range []struct {
		name string
		to   *time.Time
		days int
	}{{"from", &sel.from, 0}, {"to", &sel.to, 1}} {
		v := c.Query(b.name)
		if v == "" {
			continue
		}
		t, err := time.ParseInLocation(time.DateOnly, v, s.Zone)
		if err != nil {
			return sel, traveler.Invalid(b.name, "web.date", v)
		}
		*b.to = t.AddDate(0, 0, b.days) // up to the end of the day
		sel.window = true
	}
	return sel, nil
}

// each calls yield for every batch of the choice.
func (sel *choice) each(s *room, yield func(*story.BatchFact) bool) error {
	if sel.card != "" {
		f, i, err := s.FamilyOf(string(sel.card))
		if err != nil {
			return err
		}
		b := s.Meter().Batch(f, i)
		yield(&b)
		return nil
	}
	q := story.FactQuery{Part: sel.part, From: sel.from, Open: true}
	return s.Desk.Facts(
		q, func(b *story.BatchFact) bool { return sel.rev != "" && b.Rev != sel.rev || yield(b) },
	)
}

// walkView is the walk between two places.
type walkView struct {
	From   traveler.MachineID `json:"from"`
	To     traveler.MachineID `json:"to"`
	Metres float64            `json:"metres"`
	By     ground.Basis       `json:"by"`
}

// getWalk measures the walk between two places on the plan of today.
func (s *room) getWalk(c *fiber.Ctx) error {
	shop, now := s.Desk.Shop(), s.Time()
	var ends [2]traveler.MachineID
	for i, name := range []string{"from", "to"} {
		id, ok := shop.FindMachine(c.Query(name))
		if !ok {
			return traveler.Fail(traveler.KindNotFound, "place.unknown", c.Query(name))
		}
		ends[i] = id
	}
	m, by := s.Floors.Metres(shop, ends[0], ends[1], now)
	return c.JSON(walkView{ends[0], ends[1], m, by})
}

// tripView is one walk of a batch.
type tripView struct {
	Card       traveler.Code      `json:"card"`
	WorksOrder string             `json:"works_order,omitempty"`
	Part       string             `json:"part"`
	Rev        string             `json:"route_rev"`
	From       traveler.MachineID `json:"from"`
	To         traveler.MachineID `json:"to"`
	At         time.Time          `json:"at"`
	Metres     float64            `json:"metres"`
	By         ground.Basis       `json:"by"`
}

const mostTrips = 200 // that are listed

// tripsView is walks, the newest first; total counts those that are not listed, too.
type tripsView struct {
	Total int        `json:"total"`
	Trips []tripView `json:"trips"`
}

// getTrips lists the walks behind a figure, the newest first: those of a choice,
// between two places where these are named.
func (s *room) getTrips(c *fiber.Ctx) error {
	sel, err := s.chosen(c)
	if err != nil {
		return err
	}
	shop := s.Desk.Shop()
	start, end := traveler.MachineID(c.Query("from_place")), traveler.MachineID(c.Query("to_place"))
	list := []tripView{}
	err = sel.each(s, func(b *story.BatchFact) bool {
		for _, w := range board.WalksOf(b, sel.from, sel.to) {
			if start != "" && w.From != start || end != "" && w.To != end {
				continue
			}
			m, by := s.Floors.Metres(shop, w.From, w.To, w.At)
			list = append(list, tripView{b.Card, b.Order, b.Part, b.Rev, w.From, w.To, w.At, m, by})
		}
		return true
	})
	if err != nil {
		return err
	}
	slices.SortFunc(
		list, func(a, b tripView) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Card, b.Card)) },
	)
	return c.JSON(tripsView{len(list), list[:min(len(list), mostTrips)]})
}
