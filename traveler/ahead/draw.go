package ahead

// Draws are made by hashing what they are for: the seed, the run, the batch, the
// operation and the kind. So the same batch has the same luck in every scenario,
// and what differs between two of them comes from the scenario (common random
// numbers).

// kinds of draws.
const (
	drawSetup = iota + 1
	drawRun
	drawPick
	drawAway
	drawDeliver
	drawScanned
	drawWeek
	drawHold
	drawLorry
	drawVan
	drawGap
)

// mix is the finaliser of splitmix64 (Steele, Lea and Flood 2014).
func mix(x uint64) uint64 {
	x ^= x >> 30
	x *= 0xbf58476d1ce4e5b9
	x ^= x >> 27
	x *= 0x94d049bb133111eb
	return x ^ x>>31
}

const golden = 0x9e3779b97f4a7c15

// keyOf is a number for a name (FNV-1a).
func keyOf(s string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(s) {
		h = (h ^ uint64(s[i])) * 1099511628211
	}
	return h
}

// level is a number from 0 to 1 for what it is for.
func level(run, key uint64, op, kind int) float64 {
	h := mix(run + golden)
	h = mix(h ^ key)
	h = mix(h + uint64(op)*golden + uint64(kind))
	return float64(h>>11) / (1 << 53)
}
