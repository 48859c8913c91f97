package demo

import (
	"fmt"
	"slices"
	"time"

	"tallywalk/traveler"
)

// The lorry to the outside works goes and comes on Mondays, Wednesdays and Fridays.
var lorryDays = []time.Weekday{time.Monday, time.Wednesday, time.Friday}

// lorry is the next time it goes.
func (s *Sim) lorry(t time.Time) time.Time {
	day := midnight(t.In(s.zone))
	for range 60 {
		at := clockOn(day, 10, 30).Add(s.between(0, 90))
		if slices.Contains(lorryDays, day.Weekday()) && at.After(t) && s.hours[calDay].next(at).Equal(at) {
			return at
		}
		day = day.AddDate(0, 0, 1)
	}
	return t
}

// gate is the place of an outside work centre.
func (s *Sim) gate(j *job) traveler.MachineID { return s.centre(j.op().WorkCentre)[0].ID }

// awayShare is the days outside over those that were agreed, for outside works are
// mostly ready before the day they said; awaySpread is how they lie around it, lognormally.
const awayShare, awaySpread = 0.9, 0.12

// ship sends a job outside with the next lorry.
func (s *Sim) ship(j *job) {
	goes := s.lorry(s.now.Add(time.Hour))
	s.at(goes, func() {
		if j.over {
			return
		}
		if j.held {
			s.ship(j)
			return
		}
		if j.barred {
			s.decideDrawing(j)
			s.after(10*time.Minute, func() {
				if !j.over {
					s.ship(j)
				}
			})
			return
		}
		at, op := s.gate(j), j.op()
		j.place = at
		visit := s.say(traveler.Scan{Station: string(at), Card: string(j.card), Action: traveler.ActSend,
			Operator: "25", Operation: op.Number, Pieces: j.pieces}, traveler.RoleOperator)
		away := time.Duration(s.about(op.OutsideDays*awayShare, awaySpread) * float64(24*time.Hour))
		s.at(s.lorry(s.now.Add(away)), func() { s.receive(j, visit) })
	})
}

// receive takes a job back: mostly all of it, with the certificate; now and
// then in two deliveries, now and then one piece short.
func (s *Sim) receive(j *job, visit traveler.ScanID) {
	s.certs++
	cert := fmt.Sprintf("certificate %d", s.certs)
	n := j.pieces
	if n > 20 && s.chance(0.12) {
		s.did("outside in two deliveries")
		first := n * 3 / 5
		s.sayReceived(j, visit, first, 0, cert+", first part")
		s.at(s.lorry(s.now.Add(30*time.Hour)), func() { s.lastBack(j, visit, n-first, n, cert) })
		return
	}
	s.lastBack(j, visit, n, n, cert)
}

func (s *Sim) lastBack(j *job, visit traveler.ScanID, n, all int, cert string) {
	short := 0
	if n > 5 && s.chance(0.06) {
		s.did("outside one short")
		short = 1
	}
	s.sayReceived(j, visit, n-short, short, cert)
	j.good = all - short
	j.left = 0
	s.at(s.hours[calDay].spend(s.now, s.between(10, 60)), func() { s.onward(j) })
}

func (s *Sim) sayReceived(j *job, visit traveler.ScanID, good, missing int, note string) {
	sc := traveler.Scan{Station: string(s.gate(j)), Card: string(j.card), Action: traveler.ActReceive,
		Operator: "25", Operation: j.op().Number, Visit: visit, Good: &good, Note: note}
	if missing > 0 {
		sc.Missing = &missing
	}
	s.say(sc, traveler.RoleOperator)
}
