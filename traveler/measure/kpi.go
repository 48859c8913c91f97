package measure

import "time"

// Elements are the time and quantity elements of ISO 22400-2 for an order, a
// work unit or a period, under the standard's short names.
type Elements struct {
	APT  time.Duration // actual production time: runs
	AUST time.Duration // actual unit set-up time
	ADET time.Duration // actual unit delay time: stops
	AQT  time.Duration // actual queuing time
	ATT  time.Duration // actual transport time
	PBT  time.Duration // planned busy time: the calendar's open time
	PRI  time.Duration // planned run time per item
	PQ   int           // produced quantity
	GQ   int           // good quantity
	SQ   int           // scrap quantity
	RQ   int           // rework quantity
	PSQ  int           // planned scrap quantity
}

// AUPT is the actual unit processing time: APT + AUST.
func (e *Elements) AUPT() time.Duration { return e.APT + e.AUST }

// AUBT is the actual unit busy time: AUPT + ADET.
func (e *Elements) AUBT() time.Duration { return e.AUPT() + e.ADET }

// AOET is the actual order execution time: AUBT + ATT + AQT. It holds when
// nothing overlaps.
func (e *Elements) AOET() time.Duration { return e.AUBT() + e.ATT + e.AQT }

// KPI is a key performance indicator of ISO 22400-2.
type KPI struct {
	Name    string  // the standard's
	Formula string  // in its elements
	Unit    string  // empty for a ratio
	Value   float64 // meaningless unless Known
	Known   bool    // false when something it needs is nothing
}

func ratio(name, formula string, num, den float64) KPI {
	k := KPI{Name: name, Formula: formula}
	if den > 0 {
		k.Value, k.Known = num/den, true
	}
	return k
}

// effectiveness is not known where no cycle is planned.
func (e *Elements) effectiveness() KPI {
	k := ratio("effectiveness", "PRI*PQ/APT", e.PRI.Seconds()*float64(e.PQ), e.APT.Seconds())
	if e.PRI <= 0 {
		k.Value, k.Known = 0, false
	}
	return k
}

// KPIs are those indicators of ISO 22400-2 that hand scans can honestly give.
//
// The OEE index, and the NEE index with it, is withheld: its effectiveness
// divides planned by actual run time, so that it rests on a planned cycle that
// in a shop of small batches is itself what is in question, and its
// availability counts as lost every hour for which there was simply no work.
// Worker efficiency is withheld because it is about persons.
func (e *Elements) KPIs() []KPI {
	s := time.Duration.Seconds
	pq := float64(e.PQ)
	rate := ratio("throughput rate", "PQ/AOET", pq, e.AOET().Hours())
	rate.Unit = "1/h"
	return []KPI{
		ratio("allocation ratio", "AUBT/AOET", s(e.AUBT()), s(e.AOET())),
		rate,
		ratio("allocation efficiency", "AUBT/PBT", s(e.AUBT()), s(e.PBT)),
		ratio("utilization efficiency", "APT/AUBT", s(e.APT), s(e.AUBT())),
		ratio("availability", "APT/PBT", s(e.APT), s(e.PBT)),
		e.effectiveness(),
		ratio("quality ratio", "GQ/PQ", float64(e.GQ), pq),
		ratio("set-up ratio", "AUST/AUPT", s(e.AUST), s(e.AUPT())),
		ratio("technical efficiency", "APT/(APT+ADET)", s(e.APT), s(e.APT+e.ADET)),
		ratio("production process ratio", "APT/AOET", s(e.APT), s(e.AOET())),
		ratio("scrap ratio", "SQ/PQ", float64(e.SQ), pq),
		ratio("actual to planned scrap ratio", "SQ/PSQ", float64(e.SQ), float64(e.PSQ)),
		ratio("rework ratio", "RQ/PQ", float64(e.RQ), pq),
	}
}
