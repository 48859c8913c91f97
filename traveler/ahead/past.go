package ahead

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// Past is a record as far as it has been read, entry by entry: what was known at
// some moment, and nothing of what came after it. It is used by one goroutine.
type Past struct {
	shop     *traveler.Shop
	floors   ground.Floors
	homes    map[traveler.Code]traveler.Code // the family of a card, by its root
	families map[traveler.Code]*pastFamily
	entries  map[traveler.Seq]*traveler.Entry // of the families in memory
	of       map[traveler.Seq][]traveler.Code // families that a scan was moved to, or about
	changed  map[traveler.Code]*pastFamily    // not folded since their last entry
	releases []release
	seen     learnt
	out      map[traveler.Code]cameOut
	last     traveler.Seq
}

// pastFamily is the record of a family, and its story as it was folded last.
type pastFamily struct {
	root   traveler.Code
	record []*traveler.Entry
	story  *story.Family
	last   time.Time // when its last entry became known
	ended  bool
}

// release is a batch that came to the floor.
type release struct {
	at    time.Time
	batch traveler.Release
}

// NewPast begins with nothing read.
func NewPast() *Past {
	return &Past{
		shop: &traveler.Shop{}, homes: map[traveler.Code]traveler.Code{},
		families: map[traveler.Code]*pastFamily{},
		entries:  map[traveler.Seq]*traveler.Entry{}, of: map[traveler.Seq][]traveler.Code{},
		changed: map[traveler.Code]*pastFamily{}, seen: learnt{of: map[traveler.Code][]sample{}},
		out: map[traveler.Code]cameOut{},
	}
}

// Known is when an entry became known: when it arrived, or, of what was imported
// from another log, when it happened.
func Known(e *traveler.Entry) time.Time {
	if e.By.Name != traveler.Importer {
		return e.Arrived
	}
	at := e.Arrived
	switch {
	case e.Scan != nil && e.Scan.Happened != nil:
		at = *e.Scan.Happened
	case e.Scan != nil:
		at = e.Scan.Clock()
	case e.Release != nil && !e.Release.Released.IsZero():
		at = e.Release.Released
	}
	if at.After(e.Arrived) {
		return e.Arrived
	}
	return at
}

// Read adds an entry. Entries come in the order of Known.
func (p *Past) Read(e *traveler.Entry) {
	p.last = max(p.last, e.Seq)
	switch {
	case e.Begins():
	case e.Change != nil:
		p.shop = p.shop.With(e.Change)
	case e.Release != nil:
		p.homes[e.Card] = e.Card
		p.put(e.Card, e)
		p.releases = append(p.releases, release{Known(e), *e.Release})
	case e.Target != 0:
		p.control(e)
	default:
		root := p.homes[e.Card]
		if root == "" {
			return
		}
		if e.Other != "" && p.homes[e.Other] == "" {
			p.homes[e.Other] = root
		}
		p.put(root, e)
	}
}

// control adds what is said about another scan to the families that have it; a
// correction takes it to another one as well.
func (p *Past) control(e *traveler.Entry) {
	base := e
	for base.Target != 0 && p.entries[base.Target] != nil {
		base = p.entries[base.Target]
	}
	if base == e {
		return // of a family that left long ago
	}
	homes := p.of[base.Seq]
	if len(homes) == 0 && p.homes[base.Card] != "" {
		homes = []traveler.Code{p.homes[base.Card]}
	}
	to := p.homes[e.Card]
	if e.Scan.Action == traveler.ActCorrect && e.Outcome != traveler.Refused && to != "" &&
		!slices.Contains(homes, to) {
		for _, x := range p.about(homes, base) {
			p.put(to, x)
		}
		homes = append(slices.Clone(homes), to)
	}
	p.of[base.Seq] = homes
	for _, root := range homes {
		p.put(root, e)
	}
}

// about lists a scan and what was said about it.
func (p *Past) about(homes []traveler.Code, base *traveler.Entry) []*traveler.Entry {
	out := []*traveler.Entry{base}
	if len(homes) == 0 || p.families[homes[0]] == nil {
		return out
	}
	of := map[traveler.Seq]bool{base.Seq: true}
	for _, x := range p.families[homes[0]].record {
		if of[x.Target] {
			of[x.Seq] = true
			out = append(out, x)
		}
	}
	return out
}

// put adds an entry to the record of a family, by its sequence.
func (p *Past) put(root traveler.Code, e *traveler.Entry) {
	f := p.families[root]
	if f == nil {
		if e.Release == nil {
			return // it left memory long ago
		}
		f = &pastFamily{root: root}
		p.families[root] = f
	}
	p.entries[e.Seq] = e
	i, there := slices.BinarySearchFunc(f.record, e.Seq,
		func(x *traveler.Entry, s traveler.Seq) int { return int(int64(x.Seq) - int64(s)) })
	if there {
		return
	}
	f.record = slices.Insert(f.record, i, e)
	f.last = Known(e)
	p.changed[root] = f
}

// forgetAfter is how long a family that ended stays in memory for corrections.
const forgetAfter = 45 * 24 * time.Hour

// settle folds what changed, as of a moment, and notes what can be learnt of it.
func (p *Past) settle(now time.Time) {
	m := &measure.Meter{Shop: p.shop, Floors: &p.floors, Now: now}
	for root, f := range p.changed {
		f.story = story.Fold(p.shop, f.record)
		f.ended = isOver(f.story)
		if f.ended {
			p.seen.of[root] = samplesOf(m, f.story)
			p.cameOut(f.story, p.seen.of[root])
		}
	}
	clear(p.changed)
	for root, f := range p.families {
		if f.ended && now.Sub(f.last) > forgetAfter {
			p.forget(root, f)
		}
	}
	p.seen.forget(now)
}

func (p *Past) forget(root traveler.Code, f *pastFamily) {
	for _, e := range f.record {
		delete(p.entries, e.Seq)
		delete(p.of, e.Seq)
	}
	for _, c := range f.story.Cards() {
		delete(p.homes, c)
	}
	delete(p.families, root)
}

// open lists the families that have not ended, by root.
func (p *Past) open() []*pastFamily {
	var out []*pastFamily
	for _, f := range p.families {
		if f.story != nil && !f.ended {
			out = append(out, f)
		}
	}
	slices.SortFunc(out,
		func(a, b *pastFamily) int { return int(int64(a.record[0].Seq) - int64(b.record[0].Seq)) })
	return out
}
