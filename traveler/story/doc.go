// Package story is what the record means, and the contracts by which the rest of
// the program asks for it.
//
// The record is every scan in the order it arrived, never changed. The story is a
// pure, total fold over the scans of one family of batches, sorted by the time at
// which things happened. Undo, correction and late arrival are one mechanism: the
// record grows, and what comes after is folded again. Family is the state, Add
// takes an entry in, and the rules of the floor say what does not fit.
//
// The package knows no clock, opens no file and starts no goroutine. Log and
// Tables are what a record is kept in; Desk is where the rest of the program
// asks and reports.
package story
