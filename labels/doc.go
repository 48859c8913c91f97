// Package labels prints the sheets of the shop: job cards, labels for boxes, the
// scanner test card, badges, machine plates, action sheets, and what is stuck on
// devices or hung up beside them, as PDF, and single QR codes as SVG. It knows nothing of the record: callers fill plain structs.
//
// Lengths are millimetres and type sizes are points unless a name says
// otherwise. The same input always gives the same bytes.
package labels
