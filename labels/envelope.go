package labels

import (
	"fmt"
	"strconv"
	"strings"
)

// Identified is one field of an envelope: an ANSI MH10.8.2 data identifier and its value.
type Identified struct{ ID, Value string }

// Data identifiers of ANSI MH10.8.2 that labels carry.
const (
	IDWorksOrder = "W"
	IDOperation  = "1W"
	IDPart       = "P"
	IDQuantity   = "Q"
	IDLot        = "1T" // the supplier's, here our batch
	IDOrder      = "K"  // the customer's order
)

// The signs of ISO/IEC 15434, format 06, for data identifiers.
const (
	envelopeStart = "[)>\x1e06\x1d"
	fieldEnd      = "\x1d"
	envelopeEnd   = "\x1e\x04"
)

// Envelope writes fields as an ISO/IEC 15434 message of format 06, as other companies'
// scanners read it. What is empty is left out. It fails when nothing is left, and for a
// value that is not printable ASCII, which the format cannot carry.
func Envelope(fields []Identified) (string, error) {
	var all []string
	for _, f := range fields {
		if f.Value == "" {
			continue
		}
		for _, r := range f.Value {
			if r < ' ' || r > '~' {
				return "", fmt.Errorf(
					"%s%s cannot stand in the second code: it has a letter beyond plain ones", f.ID, f.Value)
			}
		}
		all = append(all, f.ID+f.Value)
	}
	if len(all) == 0 {
		return "", fmt.Errorf("the second code has nothing to say; give the label a works order")
	}
	return envelopeStart + strings.Join(all, fieldEnd) + envelopeEnd, nil
}

// fields are what a label says to other companies' scanners; what they could not read is
// left out, since the label says it in letters.
func (l *Label) fields() (all []Identified) {
	quantity, operation := "", ""
	if l.Pieces > 0 {
		quantity = strconv.Itoa(l.Pieces)
	}
	if l.Operation > 0 {
		operation = strconv.Itoa(l.Operation)
	}
	for _, f := range []Identified{
		{IDWorksOrder, l.WorksOrder}, {IDOperation, operation}, {IDPart, l.Part}, {IDQuantity, quantity},
		{IDLot, l.Code}, {IDOrder, l.OrderLine},
	} {
		if _, err := Envelope([]Identified{f}); err == nil && len(f.Value) <= 40 {
			all = append(all, f)
		}
	}
	return all
}
