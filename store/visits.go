package store

import (
	"encoding/json"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
)

// visitRow is the ledger's row of an ended visit: what happened, with times in
// unix milliseconds and durations in milliseconds. Rows are compared with ==.
type visitRow struct {
	Card      traveler.Code      `json:"card"`
	Part      string             `json:"part"`
	Rev       string             `json:"route_rev"`
	Visit     traveler.ScanID    `json:"visit"`
	Operation traveler.Op        `json:"operation"`
	Machine   traveler.MachineID `json:"machine"`
	ReworkFor traveler.Op        `json:"rework_for,omitempty"`
	Arrived   int64              `json:"arrived_ms"`
	Ended     int64              `json:"ended_ms"`
	Setup     int64              `json:"setup_ms,omitempty"`
	FirstOff  int64              `json:"firstoff_ms,omitempty"`
	Run       int64              `json:"run_ms,omitempty"`
	Stop      int64              `json:"stop_ms,omitempty"`
	Outside   int64              `json:"outside_ms,omitempty"`
	Good      int                `json:"good,omitempty"`
	Scrap     int                `json:"scrap,omitempty"`
	Rework    int                `json:"rework,omitempty"`
	Review    int                `json:"review,omitempty"`
	Missing   int                `json:"missing,omitempty"`
	SetupN    int                `json:"setup_pieces,omitempty"`
	Inferred  bool               `json:"inferred,omitempty"` // some bound of it was
	Uncertain bool               `json:"uncertain,omitempty"`
}

func (v *visitRow) key() string {
	return string(v.Card) + "/" + v.Operation.String() + "/" + string(v.Visit)
}

// endedVisits lists the rows of a family's ended visits, in the order of its
// visits.
func endedVisits(f *traveler.Family) []visitRow {
	var l lister
	return l.ended(f, nil)
}

// lister lists ended visits in buffers of its own.
type lister struct {
	rows []visitRow
	at   []int // of each visit: the place of its row, or -1
}

// ended lists a family's ended visits, and gives back the old list if nothing
// has changed, as is so after most scans.
func (l *lister) ended(f *traveler.Family, old []visitRow) []visitRow {
	l.rows, l.at = l.rows[:0], l.at[:0]
	for i := range f.Visits {
		at := -1
		if v := &f.Visits[i]; !v.Open() {
			at = len(l.rows)
			l.rows = append(l.rows, rowOf(f, v))
		}
		l.at = append(l.at, at)
	}
	if len(l.rows) == 0 {
		return nil
	}
	for i := range f.Spans {
		if s := &f.Spans[i]; s.Visit >= 0 && s.Visit < len(l.at) && l.at[s.Visit] >= 0 {
			l.rows[l.at[s.Visit]].add(s)
		}
	}
	if slices.Equal(l.rows, old) {
		return old
	}
	return slices.Clone(l.rows)
}

func rowOf(f *traveler.Family, v *traveler.Visit) visitRow {
	b := &f.Batches[v.Batch]
	return visitRow{
		Card: b.Card, Part: b.Part, Rev: b.Rev, Visit: v.ID, Operation: v.Operation, Machine: v.Machine,
		ReworkFor: v.ReworkFor, Arrived: v.Arrived.UnixMilli(), Ended: v.Ended().UnixMilli(),
		Good: v.Good, Scrap: v.Scrap, Rework: v.Rework, Review: v.Review, Missing: v.Missing, SetupN: v.SetupPieces,
		Inferred:  v.ArrivalInferred || v.StartInferred || v.State != traveler.VisitFinished,
		Uncertain: v.TimeUncertain,
	}
}

func (v *visitRow) add(s *traveler.Span) {
	var t measure.Times
	t.Add(s, time.UnixMilli(v.Ended))
	v.Setup += t.Setup.Milliseconds()
	v.FirstOff += t.FirstOff.Milliseconds()
	v.Run += t.Run.Milliseconds()
	v.Stop += t.Stop.Milliseconds()
	v.Outside += t.Outside.Milliseconds()
	v.Inferred = v.Inferred || s.Inferred
}

// visitRows says how the ledger changes when a family's ended visits do.
func visitRows(old, now []visitRow) []traveler.Row {
	i := 0
	for i < len(old) && i < len(now) && old[i] == now[i] {
		i++
	}
	if old, now = old[i:], now[i:]; len(old) == 0 && len(now) == 0 {
		return nil
	}
	before := make(map[string]*visitRow, len(old))
	for i := range old {
		before[old[i].key()] = &old[i]
	}
	var out []traveler.Row
	for i := range now {
		key := now[i].key()
		was := before[key]
		delete(before, key)
		if was == nil || *was != now[i] {
			out = append(out, row(ledgerVisits, key, &now[i]))
		}
	}
	for i := range old {
		if key := old[i].key(); before[key] != nil {
			out = append(out, traveler.Row{Bucket: ledgerVisits, Key: key})
		}
	}
	return out
}

// The buckets of the ledger.
const (
	ledgerVisits   = "visits"   // card/operation/visit -> visitRow
	ledgerFamilies = "families" // root -> familyRow, of families off the floor
	ledgerCards    = "cards"    // card -> root, of families off the floor
	ledgerOrders   = "orders"   // works order -> cards, of families off the floor
	ledgerUsed     = "used"     // part, zero byte, revision -> true
	ledgerAdopted  = "adopted"  // sequence of a scan -> roots of the families that took it in
)

var ledgerBuckets = []string{ledgerVisits, ledgerFamilies, ledgerCards, ledgerOrders, ledgerUsed, ledgerAdopted}

// row makes a ledger row. What the ledger holds can always be written as JSON.
func row(bucket, key string, value any) traveler.Row {
	data, err := json.Marshal(value)
	if err != nil {
		panic(err)
	}
	return traveler.Row{Bucket: bucket, Key: key, Value: data}
}
