// Package stat is the numerics of the figures: percentiles, intervals, yields,
// start quantities, control charts and tests. What gonum has is gonum's; the
// rest is small and named after its source.
//
// Batches are the unit, not pieces: pieces of one batch share a set-up, a bar
// of material and a pair of hands, and are more alike than pieces of two.
//
// Nothing here panics on data or returns an error. A number that cannot be
// given is NaN. An interval that cannot be given comes with ok = false and
// both ends NaN: too few values, a confidence or probability outside 0 to 1,
// counts that contradict themselves. Values must be finite; a NaN among them
// makes the result worthless, and is not looked for except where it says so.
// Confidences and probabilities are parts of 1, not per cent.
package stat
