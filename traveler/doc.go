// Package traveler holds the words of the shop as types: parts, routes and
// operations; machines, people and their roles; scans, releases and changes, and
// the entries of the record that they become; codes; errors and the sentences
// that people read.
//
// The package imports the standard library and the leaf traveler/calendar only,
// knows no clock, opens no file and starts no goroutine. What the words come to
// is folded in traveler/story.
package traveler
