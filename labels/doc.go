// Package labels prints the sheets of the shop: job cards, the scanner test
// card, badges, machine plates and action sheets, as PDF, and single QR codes
// as SVG. It knows nothing of the record: callers fill plain structs.
//
// Lengths are millimetres and type sizes are points unless a name says
// otherwise. The same input always gives the same bytes.
package labels
