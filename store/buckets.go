package store

import (
	"encoding/json"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// The buckets of the ledger.
const (
	ledgerFacts    = "facts"    // part, zero byte, end, card -> facts of a batch whose family is off the floor
	ledgerFamilies = "families" // root -> familyRow, of families off the floor
	ledgerCards    = "cards"    // card -> root, of families off the floor
	ledgerOrders   = "orders"   // works order -> cards, of families off the floor
	ledgerUsed     = "used"     // part, zero byte, revision -> true
	ledgerStale    = "stale"    // how far facts of families off the floor are made again, see staleRow
	ledgerAdopted  = "adopted"  // sequence of a scan -> roots of the families that took it in
	ledgerEpochs   = "epochs"   // name of an epoch that an entry of its own began -> sequence of that entry
)

var ledgerBuckets = []string{ledgerFacts, ledgerFamilies, ledgerCards, ledgerOrders, ledgerUsed, ledgerAdopted, ledgerStale, ledgerEpochs}

// rowsFormed refuses rows that a file could not keep.
func rowsFormed(rows []story.Row) error {
	for i := range rows {
		if rows[i].Bucket == "" || rows[i].Key == "" {
			return traveler.Invalid("key", "form.missing")
		}
	}
	return nil
}

// row makes a ledger row. What the ledger holds can always be written as JSON.
func row(bucket, key string, value any) story.Row {
	data, err := json.Marshal(value)
	if err != nil {
		panic(err)
	}
	return story.Row{Bucket: bucket, Key: key, Value: data}
}
