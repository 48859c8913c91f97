package store

import (
	"encoding/json"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// LedgerFacts is the bucket of the facts of batches whose family is off the floor:
// part, zero byte, end, card -> what PackFacts writes. It is kept in pages that are
// nearly full, since its rows come in the order of their keys.
const LedgerFacts = "facts"

// LedgerEpochs is the bucket of epochs that an entry of its own began: the name of
// the epoch -> sequence of that entry.
const LedgerEpochs = "epochs"

// rowsFormed refuses rows that a file could not keep.
func rowsFormed(rows []story.Row) error {
	for i := range rows {
		if rows[i].Bucket == "" || rows[i].Key == "" {
			return traveler.Invalid("key", "form.missing")
		}
	}
	return nil
}

// LedgerRow makes a row of the ledger. What the ledger holds can always be written as JSON.
func LedgerRow(bucket, key string, value any) story.Row {
	data, err := json.Marshal(value)
	if err != nil {
		panic(err)
	}
	return story.Row{Bucket: bucket, Key: key, Value: data}
}
