package ahead

import (
	"time"

	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// at makes the floor and the model as of a moment, from what has been read.
func (p *Past) at(zone *time.Location, now time.Time) (*floor, *Model) {
	p.settle(now)
	m := &measure.Meter{Shop: p.shop, Floors: &p.floors, Now: now}
	var all []sample
	for _, s := range p.seen.of {
		all = append(all, s...)
	}
	var families []*story.Family
	for _, f := range p.open() {
		families = append(families, f.story)
		all = append(all, samplesOf(m, f.story)...)
	}
	return floorOf(p.shop, zone, families, now), newModel(p.shop, zone, all, p.releases, now)
}

// cameOut notes what became of the batches of a family that is over.
func (p *Past) cameOut(f *story.Family, all []sample) {
	for i := range f.Batches {
		if b := &f.Batches[i]; f.State(i) == story.StateCancelled || b.Joined != "" {
			p.out[b.Card] = cameOut{cancelled: true}
		}
	}
	for _, s := range all {
		if !s.last {
			continue
		}
		out := cameOut{done: s.ended, delivered: s.delivered}
		if out.delivered.IsZero() {
			out.delivered = s.ended
		}
		p.out[s.card] = out
	}
}
