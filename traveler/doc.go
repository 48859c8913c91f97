// Package traveler holds the words of the shop, the rules of the floor, and the
// two ways of looking at what happened: the record and the story.
//
// The record is every scan in the order it arrived, never changed. The story is
// what the record means: a pure fold over the scans of one family of batches,
// sorted by the time at which things happened. Undo, correction and late
// arrival are one mechanism: the record grows, and the story is told again.
//
// The package imports the standard library only, knows no clock, opens no file
// and starts no goroutine. It also holds the contracts of the log (Log) and of
// the desk at which the rest of the program asks and tells (Desk).
package traveler
