package storetest

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"time"

	"tallywalk/traveler"
)

// Ordinary is a count as a station sends it all day.
func Ordinary(seq traveler.Seq) *traveler.Entry {
	arrived := time.Date(2026, 11, 25, 10, 2, 3, 456e6, time.UTC)
	good := 48
	return &traveler.Entry{
		Seq: seq, Arrived: arrived, By: traveler.Actor{Name: "lathe-2", Role: traveler.RoleOperator},
		Scan: &traveler.Scan{
			ID: "019abcde-f012-7345-8678-9abcdef01234", Device: "lathe-2", N: 4711,
			At:       arrived.Add(-312 * time.Millisecond),
			OffsetMS: -118, WithinMS: 24, Basis: seq - 3, Station: "L2", Card: "B7K2M9QXA",
			Action:   traveler.ActCount,
			Operator: "P0000042K", Good: &good, Scrap: []traveler.Loss{{Reason: "dim", N: 2}},
		},
		Outcome: traveler.Kept, Card: "B7K2M9QXA", Machine: "L2",
	}
}

// UUID7 makes an id as devices do: time, then chance (RFC 9562, section 5.7); here
// the chance is a digest of n.
func UUID7(at time.Time, n uint64) traveler.ScanID {
	h := sha256.Sum256(binary.BigEndian.AppendUint64(nil, n))
	ms := uint64(at.UnixMilli())
	raw := append([]byte{byte(ms >> 40), byte(ms >> 32), byte(ms >> 24), byte(ms >> 16), byte(ms >> 8),
		byte(ms)}, h[:10]...)
	raw[6], raw[8] = raw[6]&0x0f|0x70, raw[8]&0x3f|0x80
	s := hex.EncodeToString(raw)
	return traveler.ScanID(s[:8] + "-" + s[8:12] + "-" + s[12:16] + "-" + s[16:20] + "-" + s[20:])
}
