package desk

import "tallywalk/store"

// The buckets of the ledger, beside LedgerFacts and LedgerEpochs.
const (
	ledgerFamilies = "families" // root -> familyRow, of families off the floor
	ledgerCards    = "cards"    // card -> root, of families off the floor
	ledgerOrders   = "orders"   // works order -> cards, of families off the floor
	ledgerUsed     = "used"     // part, zero byte, revision -> true
	ledgerStale    = "stale"    // how far facts of families off the floor are made again, see staleRow
	ledgerAdopted  = "adopted"  // sequence of a scan -> roots of the families that took it in
)

var ledgerBuckets = []string{store.LedgerFacts, ledgerFamilies, ledgerCards, ledgerOrders, ledgerUsed,
	ledgerAdopted, ledgerStale, store.LedgerEpochs}
