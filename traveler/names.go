package traveler

import (
	"crypto/sha256"
	"fmt"
	"strconv"
)

// Op is an operation number: 10, 20, ... Zero means none said.
type Op int

// MaxOp is the highest operation number.
const MaxOp = 99999

func (o Op) String() string { return strconv.Itoa(int(o)) }

// MachineID is the short name of a machine or of another place where batches
// are kept or handled (inspection, wash, stores, dock).
type MachineID string

// WorkCentre names machines that can do the same work (IEC 62264 work centre).
type WorkCentre string

// PersonID is a person's badge code or clock number. The record holds nothing
// else of a person.
type PersonID string

// DeviceID names the device a scan was made on; DeviceID and N together order
// the scans of one device.
type DeviceID string

// Seq is a place in the record, counted from 1.
type Seq uint64

func (s Seq) String() string { return strconv.FormatUint(uint64(s), 10) }

// ScanID is the UUID that the device gave a scan, in lower-case hex with
// hyphens.
type ScanID string

// Valid reports whether the id is a UUID in its usual 36-character form
// (RFC 9562).
func (id ScanID) Valid() bool {
	if len(id) != 36 {
		return false
	}
	for i := range len(id) {
		switch c := id[i]; {
		case i == 8 || i == 13 || i == 18 || i == 23:
			if c != '-' {
				return false
			}
		case '0' <= c && c <= '9', 'a' <= c && c <= 'f':
		default:
			return false
		}
	}
	return true
}

// IDOf makes an id that is the same for the same text, so that what is done again is
// done once. It is a version 8 UUID (RFC 9562).
func IDOf(text string) ScanID {
	h := sha256.Sum256([]byte(text))
	h[6] = h[6]&0x0f | 0x80
	h[8] = h[8]&0x3f | 0x80
	return ScanID(fmt.Sprintf("%x-%x-%x-%x-%x", h[0:4], h[4:6], h[6:8], h[8:10], h[10:16]))
}
