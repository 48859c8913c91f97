package demo

import (
	"time"

	"tallywalk/traveler"
)

// What is true of the invented shop, and what its figures must therefore find.
// The simulation takes nothing else for pieces lost and minutes spent.
const (
	// trueLossPerClamping is the chance that a piece is lost because it was held
	// again: position between features, scrap, caused where it was clamped.
	trueLossPerClamping = 0.007
	// trueLossInOne is the same where the second spindle takes the piece over.
	trueLossInOne = 0.002
	// trueLossOther is the chance that a machining operation loses a piece for
	// another reason: a worn tool, an offset, surface, handling, material.
	trueLossOther = 0.006
	// trueSetupPiece is the chance that a set-up costs a piece before the first good
	// one; trueSetupPieceFew the same in a small batch, where people take more care.
	trueSetupPiece, trueSetupPieceFew = 0.65, 0.15
	// trueLossFixture is the chance that a piece is lost in the worn fixture, besides
	// all else, until it is mended.
	trueLossFixture = 0.06
	// trueBurrs is the chance that a piece must go back to the bench.
	trueBurrs = 0.003
	// trueReview is the chance that a piece is set aside for review.
	trueReview = 0.003

	// TrueSetup is the actual set-up time over the planned one, in the mean;
	// single ones lie around it lognormally with trueSetupSpread.
	TrueSetup       = 1.12
	trueSetupSpread = 0.30
	// TrueCycle is the actual run time of a piece over the planned one;
	// batches lie around it with trueCycleSpread.
	TrueCycle       = 1.02
	trueCycleSpread = 0.05
	// TrueCycleWrong is the same for the operation whose plan is plainly wrong.
	TrueCycleWrong = 1.25

	// trueFoundHere is the part of the pieces whose position moved that is found
	// at the operation that moved it; of the rest, each later machine finds
	// trueFoundLater, and the measuring room all that is left.
	trueFoundHere, trueFoundLater = 0.5, 0.4
)

// fewPieces is a batch so small that people take more care of its pieces.
const fewPieces = 15

// setupPieces is how many pieces one set-up of a batch costs on average.
func setupPieces(batch int) float64 {
	if batch < fewPieces {
		return trueSetupPieceFew
	}
	return trueSetupPiece
}

// The part with two routes, the part whose drawing changes, the operation whose plan
// is wrong, and the one whose fixture is worn.
const (
	partTwoRoutes = "2140-06"
	nameTwoRoutes = "Adapter flange, 52 H7"
	revManySetups = "3"
	revOneSetup   = "4"

	partNewDrawing = "4480-15"

	PartWrongPlan             = "5172-01"
	OpWrongPlan   traveler.Op = 10

	partBadFixture             = "8110-03"
	OpBadFixture   traveler.Op = 10
)

// When the new route and the new drawing come, and the worn fixture is mended, at most so long before the
// demo opens; in a short history they come in the part of it that is said.
const (
	newRouteBefore, newRoutePart     = 17 * 7 * 24 * time.Hour, 0.35
	newDrawingBefore, newDrawingPart = 21 * 7 * 24 * time.Hour, 0.45
	fixtureBefore, fixturePart       = 9 * 7 * 24 * time.Hour, 0.4
)

// lossPerClamping is the truth for one operation.
func lossPerClamping(o *traveler.Operation) float64 {
	if o.WorkCentre == wcTurnMill {
		return trueLossInOne
	}
	return trueLossPerClamping
}

// cycleFactor is the truth for one operation of a part.
func cycleFactor(part string, n traveler.Op) float64 {
	if part == PartWrongPlan && n == OpWrongPlan {
		return TrueCycleWrong
	}
	return TrueCycle
}
