package story

// Rules is the number of the rules that batches released now begin under. A
// family keeps the number it began under, so that what was decided stands:
//
//	1  the rules as they first were
//	2  a rejected first-off bars the run for all but who may pass it; each piece
//	   above what was started asks; a clock that is a day off asks, and no
//	   clock goes back before what its device said before; nobody undoes what
//	   they may not do
//	3  a run that someone else says goes on: what follows of it is theirs
const Rules = 3

// Numbers of the rules by what they brought.
const (
	rulesFirstOff = 2
	rulesSurplus  = 2
	rulesClocks   = 2
	rulesUndo     = 2
	rulesHandover = 3
)
