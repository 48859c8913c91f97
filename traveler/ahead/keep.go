package ahead

import (
	"encoding/json"
	"time"

	"tallywalk/traveler"
)

// keptTable is where each day's forecasts are kept, outside the record: they are
// derived, but what people saw on a day must not change when the program
// learns to forecast better.
const keptTable = "ahead"

// keptDay is a day's forecasts as they are kept. Seconds are from At.
type keptDay struct {
	At    time.Time   `json:"at"`
	Batch []keptBatch `json:"batches"`
}

type keptBatch struct {
	Card   traveler.Code     `json:"card"`
	Class  int               `json:"class"`
	Method Method            `json:"method"`
	Said   [kinds][3]float64 `json:"said_s"`
	Raw    [2][kinds]grid    `json:"raw_s"`
}

// save keeps a day's forecasts, and lets go of those that are too old to count; it fails
// as the tables do.
func (w *Watch) save(at time.Time, all []Kept) error {
	if w.set.Tables == nil {
		return nil
	}
	d := keptDay{At: at.UTC()}
	for i := range all {
		k := &all[i]
		b := keptBatch{Card: k.Card, Class: k.Class, Method: k.Method, Raw: k.Raw}
		for n := range kinds {
			b.Said[n] = k.Said[n]
		}
		d.Batch = append(d.Batch, b)
	}
	text, err := json.Marshal(d)
	if err != nil {
		return err
	}
	if err := w.set.Tables.Put(keptTable, keyAt(at), text); err != nil {
		return err
	}
	return w.prune(at.AddDate(0, 0, -daysKept))
}

// keyAt is the key of a day's forecasts: in the order of time.
func keyAt(at time.Time) string { return at.UTC().Format(time.RFC3339) }

// prune drops what was forecast before a moment: a day of a large shop is half a
// megabyte. It fails as the tables do.
func (w *Watch) prune(before time.Time) error {
	var old []string
	if err := w.set.Tables.Each(keptTable, func(key string, _ []byte) bool {
		if key < keyAt(before) {
			old = append(old, key)
		}
		return true
	}); err != nil {
		return err
	}
	for _, key := range old {
		if err := w.set.Tables.Delete(keptTable, key); err != nil {
			return err
		}
	}
	return nil
}

// load reads what was kept; what can't be read is worked out again. It fails as the
// tables do.
func (w *Watch) load() (out []Kept, err error) {
	if w.set.Tables == nil {
		return nil, nil
	}
	err = w.set.Tables.Each(keptTable, func(_ string, text []byte) bool {
		var d keptDay
		if json.Unmarshal(text, &d) != nil {
			return true
		}
		for i := range d.Batch {
			b := &d.Batch[i]
			if b.Class < 0 || b.Class >= classes {
				continue
			}
			k := Kept{Card: b.Card, At: d.At, Class: b.Class, Method: b.Method, Raw: b.Raw}
			for n := range kinds {
				k.Said[n] = b.Said[n]
			}
			out = append(out, k)
		}
		return true
	})
	return out, err
}
