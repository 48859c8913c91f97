package demo

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// sayTogether is how long the history gathers what is said before it sends it:
// stations send at once, but a year goes faster in handfuls.
const sayTogether = 20 * time.Minute

// simDevice is a tablet at one or several machines.
type simDevice struct {
	id    traveler.DeviceID
	name  string
	n     uint64
	slow  time.Duration // the server's clock less its own, as it measured it
	wrong time.Duration // the same, unmeasured
	error time.Duration // possible error of what it measured
	alone bool          // no network: what it is sent waits in the box
	box   []story.Said
}

// office is what the supervisor's computer says for itself.
const office = "office"

func (s *Sim) device(station string) *simDevice {
	if m := s.named[traveler.MachineID(station)]; m != nil {
		return m.dev
	}
	return s.devices[0]
}

// say says something at a station, in a role. Empty fields are filled in.
func (s *Sim) say(sc traveler.Scan, role traveler.Role) traveler.ScanID {
	d := s.device(sc.Station)
	d.n++
	sc.ID, sc.Device, sc.N = s.id(), d.id, d.n
	sc.At = s.now.Add(-d.slow - d.wrong)
	sc.OffsetMS, sc.WithinMS = d.slow.Milliseconds(), d.error.Milliseconds()
	said := story.Said{By: traveler.Actor{Name: d.name, Role: role}, Scan: sc}
	if d.alone {
		no := false
		said.Scan.Present = &no
		d.box = append(d.box, said)
		return sc.ID
	}
	s.send(said)
	return sc.ID
}

func (s *Sim) send(said ...story.Said) {
	if len(s.out) == 0 {
		s.since = s.now
	}
	s.out = append(s.out, said...)
	if s.alive {
		s.flush()
	}
}

func (s *Sim) flushIfDue() {
	if len(s.out) > 0 && (len(s.queue) == 0 || s.queue[0].at.Sub(s.since) > sayTogether) {
		s.flush()
	}
}

// flush sends what was said and hears the answers.
func (s *Sim) flush() {
	for len(s.out) > 0 && s.err == nil {
		said := s.out
		s.out = nil
		s.clock.set(s.now)
		answers, err := s.desk.Scans(s.ctx, said)
		if err != nil {
			s.fail(err)
			return
		}
		for i := range answers {
			s.hear(&said[i], &answers[i])
		}
	}
}

// hear takes an answer. What is refused is let be, as people do, unless it may
// be said anyway: then most say it once more, for when it was.
func (s *Sim) hear(said *story.Said, a *story.Answer) {
	s.counts.scans++
	switch {
	case a.Err != nil:
		s.counts.invalid++
		return
	case a.Outcome == traveler.Questioned:
		s.counts.asked++
	case a.Outcome == traveler.Refused:
		s.counts.refused++
		s.counts.why[a.Say.Key]++
		if a.Offer && (lasting(said.Scan.Action) || s.chance(0.9)) {
			s.insist(said, a.Say.Key)
		}
	}
	if a.Issued != "" {
		s.issued[a.ID] = a.Issued
	}
}

// lasting reports whether letting a refusal be would leave a batch where it is
// not: then someone sees to it.
func lasting(act traveler.Action) bool {
	return act == traveler.ActFinish || act == traveler.ActRun || act == traveler.ActJoin
}

// insisting is the reason given, by the sentence that refused.
var insisting = map[string]string{
	"machine.wrong": "twin", "order.wrong": "unseen", "op.over": "sure", "firstoff.open": "urgent",
	"firstoff.none": "told",
	"count.started": "sure", "count.over": "sure", "deliver.over": "sure", "join.passed": "told",
}

func (s *Sim) insist(said *story.Said, key string) {
	s.did("anyway")
	sc := said.Scan
	was := sc.At.Add(time.Duration(sc.OffsetMS) * time.Millisecond)
	if sc.Happened != nil {
		was = *sc.Happened
	}
	sc.Anyway, sc.Happened = true, &was
	if sc.Reason == "" {
		sc.Reason = insisting[key]
	}
	d := s.device(sc.Station)
	d.n++
	sc.ID, sc.Device, sc.N, sc.At = s.id(), d.id, d.n, s.now.Add(-d.slow-d.wrong)
	sc.OffsetMS, sc.WithinMS = d.slow.Milliseconds(), d.error.Milliseconds()
	s.send(story.Said{By: said.By, Scan: sc})
}

// goAlone cuts a device off for a while; what it is sent comes afterwards.
func (s *Sim) goAlone(d *simDevice, lasts time.Duration) {
	if d.alone {
		return
	}
	s.did("late station")
	d.alone = true
	s.after(lasts, func() {
		d.alone = false
		box := d.box
		d.box = nil
		s.send(box...)
	})
}
