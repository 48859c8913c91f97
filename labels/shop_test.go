package labels

import (
	"fmt"
	"time"
)

// An invented shop for the tests.

var printed = time.Date(2026, 11, 25, 6, 40, 0, 0, time.UTC)

func sampleCard() Card {
	return Card{
		Code: "B7K3M9QXA", URL: "https://tally.shop.example:8443",
		WorksOrder: "W-26-1187", Part: "VB-2041-03", PartName: "Valve body, 3-port, Ø 42 h6",
		DrawingRev: "C", RouteRev: "R4", Material: "1.4404 bar ⌀ 50 mm, EN 10088-3",
		MaterialLots: []string{"H 88213-2", "H 88214-1"}, Customer: "Brook & Hollow Pumps",
		OrderLine: "4500-11873 / 20", Pieces: 52, Wanted: 50, Priority: 3, Printed: printed,
		Due:      time.Date(2026, 12, 11, 0, 0, 0, 0, time.UTC),
		HeadHash: "seq 18 204 · 9f3c 11ab 77e0 4d21",
		Operations: []CardOperation{
			{Number: 10, WorkCentre: "Sawing",
				Instruction: "Saw blanks 86 +0.5 mm, stamp the heat number on the face", SetupMin: 10,
				CycleMin: 1.2, Clampings: 1},
			{Number: 20, WorkCentre: "Turning",
				Instruction: "Turn side 1: face, bore ⌀ 24 H7, thread M36×1.5; keep concentric ⌀ 42 h6 to bore within 0.02", SetupMin: 45, CycleMin: 6.4, Clampings: 1, FirstOff: true},
			{Number: 30, WorkCentre: "5-axis milling",
				Instruction: "Ports A, B, C; deburr cross holes by hand, no sharp edges", SetupMin: 90,
				CycleMin: 22, PiecesPerCycle: 4, Clampings: 2, FirstOff: true},
			{Number: 40, WorkCentre: "Wash", SetupMin: 0, CycleMin: 0.4},
			{Number: 50, WorkCentre: "Passivation", Instruction: "Send out with the treatment sheet",
				Outside: true, OutsideDays: 5},
			{Number: 60, WorkCentre: "Inspection",
				Instruction: "Measure by plan; bore and ⌀ 42 h6 each piece, angle 30° ± 0.1°", SetupMin: 5,
				CycleMin: 2},
		},
	}
}

func longRoute(n int) []CardOperation {
	var ops []CardOperation
	for i := range n {
		ops = append(ops, CardOperation{Number: 10 * (i + 1), WorkCentre: fmt.Sprintf("Centre %d", i%7+1),
			Instruction: "Mill the pocket to depth and gauge it", SetupMin: 12.5, CycleMin: 3.25,
			Clampings: 2, FirstOff: i%3 == 0})
	}
	return ops
}

// crockford32 makes codes that look like ours; their check character is not right.
func crockford32(kind byte, n int) string {
	const digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
	b := []byte{kind}
	for range 8 {
		b = append(b, digits[n%32])
		n = n*7 + 3
	}
	return string(b)
}

func sampleBadges(n int) []Badge {
	names := []string{"Ana Okoro", "Jörg Weißenböck", "Marta Quillfeather-Lindqvist", "Σοφία Πάππα"}
	var out []Badge
	for i := range n {
		out = append(out, Badge{Code: crockford32('P', i), Name: names[i%len(names)], Role: "operator"})
	}
	return out
}

func samplePlates(n int) []Plate {
	var out []Plate
	for i := range n {
		out = append(out,
			Plate{Code: crockford32('M', i), Name: fmt.Sprintf("L%d", i+1), WorkCentre: "Turning",
				Place: "Hall 1, by the north door"})
	}
	return out
}

func sampleActions() []ActionCode {
	words := []string{"Arrived", "Set-up", "First-off", "Run", "Stop", "Count", "Finish", "Hold", "Split",
		"Join", "Move on",
		"Send out", "Received", "Undo", "It happened 15 min ago",
		"Something is wrong here: call a supervisor"}
	var out []ActionCode
	for i, w := range words {
		out = append(out, ActionCode{Code: crockford32('A', i), Word: w})
	}
	return out
}
