package ahead

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"tallywalk/traveler"
)

// with is the floor as a scenario has it: a copy where something differs. It fails
// with KindInvalid where the scenario names what is not there.
func (fl *floor) with(sc *Scenario) (*floor, error) {
	out := *fl
	out.jobs = slices.Clone(fl.jobs)
	for _, s := range slices.Concat(sc.Open, sc.Shut) {
		if _, ok := fl.shop.Machine(s.Machine, fl.now); !ok {
			return nil, traveler.Invalid("machine", "place.unknown", string(s.Machine))
		}
		if !s.To.After(s.From) {
			return nil, traveler.Invalid("to", "form.time")
		}
	}
	for _, card := range sc.First {
		if _, err := out.find(card); err != nil {
			return nil, err
		}
	}
	for _, x := range sc.Take {
		if _, ok := fl.shop.Machine(x.Machine, fl.now); !ok {
			return nil, traveler.Invalid("machine", "place.unknown", string(x.Machine))
		}
		if _, err := out.find(x.Card); err != nil {
			return nil, err
		}
	}
	for i := range sc.Route {
		if err := out.reroute(&sc.Route[i]); err != nil {
			return nil, err
		}
	}
	for i := range sc.Split {
		if err := out.split(&sc.Split[i]); err != nil {
			return nil, err
		}
	}
	for i := range sc.Add {
		if err := out.add(i, &sc.Add[i]); err != nil {
			return nil, err
		}
	}
	return &out, nil
}

func (fl *floor) find(card traveler.Code) (int, error) {
	i := slices.IndexFunc(fl.jobs, func(j job) bool { return j.card == card })
	if i < 0 {
		return i, traveler.Invalid("card", "card.unknown", string(card))
	}
	return i, nil
}

// reroute puts a batch on another route revision of its part, from the operation on
// that nobody has begun.
func (fl *floor) reroute(r *Reroute) error {
	i, err := fl.find(r.Card)
	if err != nil {
		return err
	}
	j := &fl.jobs[i]
	route, ok := fl.shop.Route(j.part, r.Rev)
	if !ok {
		return traveler.Invalid("route_rev", "release.part", j.part, r.Rev)
	}
	var todos []todo
	begun := traveler.Op(0)
	pieces := 1
	if len(j.todo) > 0 {
		begun, pieces = j.todo[0].op, j.todo[0].pieces
	}
	if j.stage == atWork || j.stage == away {
		todos = append(todos, j.todo[0])
		begun++ // what is begun is ended as it was begun
	}
	for k := range route.Operations {
		if o := &route.Operations[k]; len(j.todo) > 0 && o.Number >= begun {
			todos = append(todos, todoOf(o, pieces, k))
		}
	}
	j.todo, j.rev = todos, r.Rev
	return nil
}

// split lets some pieces of a batch go on by themselves.
func (fl *floor) split(p *Piece) error {
	i, err := fl.find(p.Card)
	if err != nil {
		return err
	}
	all := 0
	if len(fl.jobs[i].todo) > 0 {
		all = fl.jobs[i].todo[0].pieces
	}
	if p.Pieces < 1 || p.Pieces >= all {
		return traveler.Invalid("pieces", "form.number")
	}
	box := fl.jobs[i]
	share := float64(p.Pieces) / float64(all)
	fl.jobs[i].todo = scaled(box.todo, 1-share)
	box.todo = scaled(box.todo, share)
	// Several may be split off one batch, as many pieces each.
	parent, n := box.card, 1
	for box.card = splitName(parent, p.Pieces, n); fl.has(box.card); box.card = splitName(parent, p.Pieces,
		n) {
		n++
	}
	box.key, box.isNew = mix(box.key+uint64(n)), true
	if box.stage == atWork {
		// They are taken off the machine and wait before it.
		box.stage, box.since, box.spentRun, box.spentSetup = waiting, fl.now, 0, 0
	}
	box.from = box.since
	fl.jobs = append(fl.jobs, box)
	return nil
}

// splitName is what the n-th of so many pieces that is split off a batch goes by.
func splitName(card traveler.Code, pieces, n int) traveler.Code {
	card += traveler.Code("/" + strconv.Itoa(pieces))
	if n > 1 {
		card += traveler.Code("/" + strconv.Itoa(n))
	}
	return card
}

func (fl *floor) has(card traveler.Code) bool {
	return slices.ContainsFunc(fl.jobs, func(j job) bool { return j.card == card })
}

func scaled(all []todo, share float64) []todo {
	out := slices.Clone(all)
	for k := range out {
		out[k].pieces = max(1, int(float64(out[k].pieces)*share+0.5))
		out[k].run *= share
	}
	return out
}

// add puts a batch on the floor that is not there yet.
func (fl *floor) add(n int, b *NewBatch) error {
	rev := b.Rev
	if rev == "" {
		for _, r := range fl.shop.Routes() {
			if r.Part == b.Part {
				rev = r.Rev
			}
		}
	}
	route, ok := fl.shop.Route(b.Part, rev)
	if !ok {
		return traveler.Invalid("part", "release.part", b.Part, rev)
	}
	if b.Pieces < 1 || b.Pieces > traveler.MaxPieces {
		return traveler.Invalid("pieces", "release.pieces", strconv.Itoa(traveler.MaxPieces))
	}
	card := cmp.Or(b.Card, traveler.Code(fmt.Sprintf("new/%d", n+1)))
	j := job{
		card: card, part: b.Part, name: route.PartName, rev: rev, hot: b.Hot, prio: b.Priority, due: b.Due,
		released: b.From, isNew: true,
		from: b.From, since: b.From, key: keyOf(string(card)), state: "waiting",
	}
	if j.from.Before(fl.now) {
		j.from, j.since, j.released = fl.now, fl.now, fl.now
	}
	for k := range route.Operations {
		j.todo = append(j.todo, todoOf(&route.Operations[k], b.Pieces, k))
	}
	fl.jobs = append(fl.jobs, j)
	return nil
}

// promise gives what a scenario adds without a due date the date that it would be
// promised for: it stands in line by that.
func (fl *floor) promise(f *Forecast) (changed bool) {
	for i := range fl.jobs {
		j := &fl.jobs[i]
		if !j.isNew || !j.due.IsZero() {
			continue
		}
		if b := f.Batch(j.card); b != nil && !b.Delivered.P85.IsZero() {
			j.due, changed = b.Delivered.P85, true
		}
	}
	return changed
}

// usualLead is how long before their due dates batches are released: the median of
// the last months; two weeks where nobody says.
func (m *Model) usualLead() time.Duration {
	var all []float64
	for _, w := range m.weeks {
		for i := range w {
			if r := &w[i]; !r.batch.Due.IsZero() {
				all = append(all, r.batch.Due.Sub(r.week.Add(r.at)).Seconds())
			}
		}
	}
	if len(all) == 0 {
		return 14 * 24 * time.Hour
	}
	slices.Sort(all)
	return seconds(all[len(all)/2])
}
