package store

import (
	"encoding/json"

	"tallywalk/traveler"
)

// The buckets of the ledger.
const (
	ledgerFacts    = "facts"    // part, zero byte, end, card -> facts of a batch whose family is off the floor
	ledgerFamilies = "families" // root -> familyRow, of families off the floor
	ledgerCards    = "cards"    // card -> root, of families off the floor
	ledgerOrders   = "orders"   // works order -> cards, of families off the floor
	ledgerUsed     = "used"     // part, zero byte, revision -> true
	ledgerAdopted  = "adopted"  // sequence of a scan -> roots of the families that took it in
)

var ledgerBuckets = []string{ledgerFacts, ledgerFamilies, ledgerCards, ledgerOrders, ledgerUsed, ledgerAdopted}

// row makes a ledger row. What the ledger holds can always be written as JSON.
func row(bucket, key string, value any) traveler.Row {
	data, err := json.Marshal(value)
	if err != nil {
		panic(err)
	}
	return traveler.Row{Bucket: bucket, Key: key, Value: data}
}
