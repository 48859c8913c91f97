package demo

import "tallywalk/traveler"

// measured is what an inspector measured of a first piece that is refused, by what is
// made there: beyond its upper limit by a part of the tolerance.
func (s *Sim) measured(o *traveler.Operation) []traveler.Measured {
	m := map[traveler.WorkCentre]traveler.Measured{
		wcTurn:     {Dimension: "Bore", Nominal: 52, Upper: 0.03},
		wcTurnMill: {Dimension: "Outside diameter", Nominal: 24, Lower: -0.021},
		wcBar:      {Dimension: "Outside diameter", Nominal: 12.3, Lower: -0.05, Upper: 0.05},
		wcMill3:    {Dimension: "Hole position", Nominal: 34, Lower: -0.05, Upper: 0.05},
		wcMill5:    {Dimension: "Bore", Nominal: 16, Upper: 0.018},
		wcGrind:    {Dimension: "Outside diameter", Nominal: 20, Lower: -0.013},
	}[o.WorkCentre]
	if m.Dimension == "" {
		return nil
	}
	beyond := (m.Upper - m.Lower) * (0.1 + 0.8*s.rng.Float64())
	m.Found = m.Nominal + m.Upper + float64(int(beyond*1000)+1)/1000
	return []traveler.Measured{m}
}
