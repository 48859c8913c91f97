package kiosk

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Table is the rules of a station as data: what may be said of a batch at a machine,
// in which order, by whom, and what a scan makes of a visit. The program interprets it
// for its own answers (steps.go), a station that is alone for itself
// (kiosk/page/steps.js, apply.js).
type Table struct {
	Forms map[string]Form                   `json:"forms"` // of steps, by name
	Lists map[string][]Line                 `json:"lists"` // by name; ListAll is the first
	May   map[traveler.Role][]traveler.Deed `json:"may"`
	Moves []story.Move                      `json:"moves"`
	// Limits are numbers that facts rest on.
	Limits Limits `json:"limits"`
	// Askable are the refusals after which a scan may be said anyway.
	Askable []string `json:"askable"`
}

// Line is a line of a list: where all of When hold, what it does is offered next,
// and with End nothing after it. A name that begins with ! holds where the fact does
// not; one that begins with @ is another list. Each repeats it for each rework, or each
// review, that waits.
type Line struct {
	When []string `json:"when,omitempty"`
	Do   []string `json:"do,omitempty"`
	Each string   `json:"each,omitempty"`
	End  bool     `json:"end,omitempty"`
}

// Form is a step before it is aimed at a batch. Aim says what at: the operation and
// visit that are open here, or another one. Args, Pieces and To name values.
type Form struct {
	Action traveler.Action `json:"action"`
	Key    string          `json:"key"`
	Needs  Need            `json:"needs,omitempty"`
	Deed   traveler.Deed   `json:"deed"`
	Aim    string          `json:"aim,omitempty"`
	Args   []string        `json:"args,omitempty"`
	Pieces string          `json:"pieces,omitempty"`
	To     string          `json:"to,omitempty"`
	Phase  string          `json:"phase,omitempty"`
	For    string          `json:"for,omitempty"`
	Reason string          `json:"reason,omitempty"`
	Unless string          `json:"unless,omitempty"` // the fact that takes it away
	Who    string          `json:"who,omitempty"`    // the sentence for those who may not say it
}

// What a step is aimed at.
const (
	aimHere    = "here"    // operation and visit that are open here
	aimNew     = "new"     // the operation here, another visit
	aimOut     = "out"     // the visit that is out
	aimVerdict = "verdict" // the visit whose first piece waits
	aimNext    = "next"    // the batch's next operation
	aimRework  = "rework"  // pieces that wait for rework
	aimReview  = "review"  // pieces that were set aside
)

// Values that steps say.
const (
	valueOp      = "op"        // the operation here
	valueGood    = "good"      // counted here
	valueDrawing = "drawing"   // of the batch
	valueNext    = "next"      // the batch's next operation
	valueLeft    = "next.left" // what is left there
	valueEnd     = "end"       // good pieces that have not been delivered
	valueEach    = "each"      // the operation of a rework or a review
	valueToName  = "to.name"   // where the batch goes next: work centre or place,
	valueTo      = "to"        // and the machine, where there is only one
	valueFirst   = "first.op"  // the first operation, with its work centre
	valueFirstWC = "first.wc"
	valueFirstTo = "first" // and machine, where there is only one
	valueHere    = "machine"
)

// ListAll is the list that steps begin with.
const ListAll = "all"

// Rules is the one table.
var Rules = Table{
	Forms: withDeeds(forms), Lists: lists, May: roles(), Moves: story.Moves, Limits: limits,
	Askable: story.Askable(),
}

// forms are written without deeds, which follow from what they say.
var forms = map[string]Form{
	"arrive":       {Action: traveler.ActArrive, Aim: aimHere},
	"setup":        {Action: traveler.ActSetup, Aim: aimHere},
	"setup.again":  {Action: traveler.ActSetup, Aim: aimHere},
	"setup.new":    {Action: traveler.ActSetup, Key: "setup.again", Aim: aimNew},
	"setup.anyway": {Action: traveler.ActSetup, Args: []string{valueOp}, Aim: aimHere},
	"run":          {Action: traveler.ActRun, Aim: aimHere, Unless: "barred"},
	"run.on":       {Action: traveler.ActRun, Aim: aimHere, Unless: "barred"},
	"run.anyway":   {Action: traveler.ActRun, Args: []string{valueOp}, Aim: aimHere, Unless: "barred"},
	"stop":         {Action: traveler.ActStop, Needs: NeedStop, Aim: aimHere},
	"stop.why":     {Action: traveler.ActStop, Needs: NeedStop, Aim: aimHere},
	"wait":         {Action: traveler.ActStop, Needs: NeedWait, Aim: aimHere},
	"ready":        {Action: traveler.ActReady, Needs: NeedReady, Aim: aimHere},
	"count":        {Action: traveler.ActCount, Needs: NeedCounts, Aim: aimHere},
	"count.setup":  {Action: traveler.ActCount, Needs: NeedCounts, Aim: aimHere, Phase: "setup"},
	"finish":       {Action: traveler.ActFinish, Needs: NeedCounts, Aim: aimHere},
	"finish.all":   {Action: traveler.ActFinish, Args: []string{valueGood}, Aim: aimHere},
	"firstoff":     {Action: traveler.ActFirstOff, Aim: aimHere},
	"verdict":      {Action: traveler.ActFirstOff, Needs: NeedVerdict, Aim: aimVerdict, Who: "who.firstoff"},
	"verdict.here": {Action: traveler.ActFirstOff, Key: "verdict", Needs: NeedVerdict, Aim: aimHere},
	"receive":      {Action: traveler.ActReceive, Needs: NeedCounts, Aim: aimOut},
	"send":         {Action: traveler.ActSend, Args: []string{valueNext}, Aim: aimNext},
	"send.part":    {Action: traveler.ActSend, Needs: NeedPieces, Aim: aimNext, Pieces: valueLeft},
	"deliver":      {Action: traveler.ActDeliver, Args: []string{valueEnd}},
	"deliver.part": {Action: traveler.ActDeliver, Needs: NeedPieces, Pieces: valueEnd},
	"move":         {Action: traveler.ActMove, Needs: NeedPlace},
	"move.here":    {Action: traveler.ActMove, To: valueHere},
	"move.to":      {Action: traveler.ActMove, Args: []string{valueToName}, To: valueTo},
	"move.planned": {Action: traveler.ActMove, Args: []string{valueFirst, valueFirstWC}, To: valueFirstTo},
	"split":        {Action: traveler.ActSplit, Needs: NeedPieces},
	"join":         {Action: traveler.ActJoin, Needs: NeedSibling},
	"hold":         {Action: traveler.ActHold, Needs: NeedHold},
	"free":         {Action: traveler.ActFree, Who: "who.free"},
	"drawing.use": {Action: traveler.ActDecide, Args: []string{valueDrawing}, For: story.ForDrawing,
		Reason: "use", Who: "who.drawing"},
	"drawing.stop": {Action: traveler.ActDecide, For: story.ForDrawing, Reason: "stop", Who: "who.drawing"},
	"decide": {Action: traveler.ActDecide, Needs: NeedCounts, Args: []string{valueEach},
		Aim: aimReview, Who: "who.review"},
	"concession": {Action: traveler.ActDecide, Needs: NeedCounts, Args: []string{valueEach},
		Aim: aimReview, Reason: "concession", Who: "who.review"},
	"rework.run":    {Action: traveler.ActRun, Args: []string{valueEach}, Aim: aimRework},
	"rework.setup":  {Action: traveler.ActSetup, Args: []string{valueEach}, Aim: aimRework},
	"rework.arrive": {Action: traveler.ActArrive, Args: []string{valueEach}, Aim: aimRework},
}

// lists say what is offered. Their facts are those of look.facts.
var lists = map[string][]Line{
	// The likely step is the first one. A batch that is cancelled, or was joined to
	// another, has none: its sentence says what to do.
	ListAll: {
		{When: []string{"gone"}, End: true},
		{When: []string{"held"}, Do: []string{"@held"}},
		{When: []string{"drawing"}, Do: []string{"@drawing"}},
		{When: []string{"!held", "!drawing"}, Do: []string{"@free"}},
		{When: []string{"!held", "!drawing", "rework"}, Each: "rework",
			Do: []string{"rework.run", "rework.setup", "rework.arrive"}},
		{Do: []string{"@reviews"}},
		{When: []string{"verdict"}, Do: []string{"verdict"}},
		{Do: []string{"move"}},
		{When: []string{"held"}, End: true},
		{Do: []string{"split", "hold"}},
		{When: []string{"siblings"}, Do: []string{"join"}},
	},
	"held": {
		{When: []string{"inspection"}, Do: []string{"free"}, End: true},
		{When: []string{"!working"}, Do: []string{"move", "free"}, End: true},
		{When: []string{"running"}, Do: []string{"stop", "count", "@finish", "free"}, End: true},
		{When: []string{"setting"}, Do: []string{"stop", "count", "@finish", "free"}, End: true},
		{Do: []string{"@finish", "count", "free"}},
	},
	"drawing": {
		{When: []string{"!working"}, Do: []string{"wait"}},
		{When: []string{"outside"}, Do: []string{"@state"}},
		{When: []string{"stopped"}, Do: []string{"@finish", "count"}},
		{When: []string{"working", "!outside", "!stopped"}, Do: []string{"stop", "count", "@finish"}},
		{Do: []string{"drawing.use", "drawing.stop"}},
	},
	// What a batch that nothing bars is most likely here for.
	"free": {
		{When: []string{"inspection", "!working", "verdict"}, Do: []string{"verdict", "@begin"}, End: true},
		{When: []string{"inspection", "!working", "review"}, Do: []string{"@reviews", "@begin"}, End: true},
		{When: []string{"visit"}, Do: []string{"@state"}, End: true},
		{When: []string{"out"}, Do: []string{"receive", "@elsewhere"}, End: true},
		{When: []string{"put.down"}, Do: []string{"move.here"}},
		{When: []string{"next.outside"}, Do: []string{"@send"}, End: true},
		{When: []string{"work", "astray"}, Do: []string{"move.planned"}},
		{When: []string{"work"}, Do: []string{"@begin"}, End: true},
		{When: []string{"rework"}, Each: "rework",
			Do: []string{"rework.run", "rework.setup", "rework.arrive"}},
		{When: []string{"rework"}, Do: []string{"@carry"}, End: true},
		{Do: []string{"@elsewhere"}},
	},
	// What can be said of the visit that is open here.
	"state": {
		{When: []string{"passed"}, Do: []string{"@finish", "count", "run.on", "setup.new", "@carry"},
			End: true},
		{When: []string{"outside"}, Do: []string{"receive", "@finish"}, End: true},
		{When: []string{"firstoff"},
			Do: []string{"verdict.here", "setup.again", "stop", "count", "@finish", "run"}, End: true},
		{When: []string{"setting", "refused"},
			Do: []string{"firstoff", "setup.again", "hold", "stop", "count.setup", "count", "@finish",
				"run"},
			End: true},
		{When: []string{"running", "refused"},
			Do: []string{"setup.again", "firstoff", "hold", "stop", "count", "@finish"}, End: true},
		{When: []string{"stopped", "refused"},
			Do:  []string{"setup.again", "firstoff", "hold", "count", "@finish", "stop.why", "run.on"},
			End: true},
		// Where every piece is counted, the finish is first.
		{When: []string{"working", "!left"}, Do: []string{"@finish"}},
		{When: []string{"setting", "first.due"}, Do: []string{"firstoff"}},
		{When: []string{"setting"},
			Do: []string{"run", "firstoff", "stop", "count.setup", "count", "@finish"}, End: true},
		{When: []string{"ready"}, Do: []string{"run", "setup.again", "stop", "count", "@finish"}, End: true},
		{When: []string{"running", "leaves"}, Do: []string{"stop", "count", "@finish", "setup.again"},
			End: true},
		{When: []string{"running", "nearly"}, Do: []string{"@finish", "count", "stop", "setup.again"},
			End: true},
		{When: []string{"running"}, Do: []string{"count", "@finish", "stop", "setup.again"}, End: true},
		{When: []string{"stopped", "unset"},
			Do: []string{"setup.again", "run.on", "count", "@finish", "stop.why"}, End: true},
		{When: []string{"stopped"}, Do: []string{"run.on", "count", "@finish", "stop.why", "setup.again"},
			End: true},
		{Do: []string{"@begin"}},
	},
	"finish": {
		{When: []string{"left"}, Do: []string{"finish"}, End: true},
		{Do: []string{"finish.all"}},
	},
	// Work that has not begun: set-up, or the run at once where hardly any is planned.
	// Where the people of a machine say when batches come, that is first, but for a
	// tray that follows others to a bench.
	"begin": {
		{When: []string{"!op"}, End: true},
		{When: []string{"comes", "!no.setup"}, Do: []string{"arrive"}},
		{When: []string{"comes", "no.setup", "!trays"}, Do: []string{"arrive"}},
		{When: []string{"no.setup", "first.wanted"}, Do: []string{"firstoff"}},
		{When: []string{"no.setup", "astray"}, Do: []string{"run.anyway"}},
		{When: []string{"no.setup", "!astray"}, Do: []string{"run"}},
		{When: []string{"astray"}, Do: []string{"setup.anyway", "run.anyway"}},
		{When: []string{"!astray"}, Do: []string{"setup", "run"}},
		{When: []string{"!visit"}, Do: []string{"arrive"}},
		{When: []string{"things"}, Do: []string{"ready"}},
		{Do: []string{"wait", "count", "@finish"}},
	},
	"send": {
		{Do: []string{"send", "send.part", "wait"}},
		{When: []string{"undone"}, Do: []string{"@begin"}},
	},
	// What can be said where nothing is to be done here.
	"elsewhere": {
		{When: []string{"put"}, Do: []string{"move.here"}},
		{When: []string{"deliver", "deliver.first"}, Do: []string{"deliver"}},
		{Do: []string{"@carry"}},
		{When: []string{"deliver"}, Do: []string{"deliver", "deliver.part"}},
		{When: []string{"put"}, End: true},
		{Do: []string{"wait"}},
		{When: []string{"op", "!done"}, Do: []string{"@begin"}},
		{Do: []string{"move.here"}},
	},
	// Where the batch goes next: to the next operation, or to the dock.
	"carry": {
		{When: []string{"astray"}, Do: []string{"move.planned"}, End: true},
		{When: []string{"to"}, Do: []string{"move.to"}, End: true},
		{Do: []string{"move"}},
	},
	"reviews": {
		{When: []string{"review"}, Each: "review", Do: []string{"decide", "concession"}},
	},
}

// withDeeds gives each form its key, where that is its name, and the deed that it
// is.
func withDeeds(in map[string]Form) map[string]Form {
	out := make(map[string]Form, len(in))
	for name, f := range in {
		if f.Key == "" {
			f.Key = name
		}
		s := Step{Action: f.Action, For: f.For, Reason: f.Reason, Needs: f.Needs}
		f.Deed = traveler.DeedOf(s.scan())
		out[name] = f
	}
	return out
}

// roles says what each role may do, of what steps are.
func roles() map[traveler.Role][]traveler.Deed {
	out := map[traveler.Role][]traveler.Deed{}
	for _, r := range []traveler.Role{
		traveler.RoleOperator, traveler.RoleInspector, traveler.RoleSupervisor, traveler.RolePlanner,
		traveler.RoleAdministrator,
	} {
		deeds := []traveler.Deed{traveler.DeedScan, traveler.DeedReady, traveler.DeedVerdict,
			traveler.DeedSettle}
		out[r] = slices.DeleteFunc(deeds, func(d traveler.Deed) bool { return !traveler.May(r, d) })
	}
	return out
}

// Refusals are the keys of the sentences that a station says by itself
// (kiosk/page/fits.js, judge.js).
var Refusals = []string{
	"batch.cancelled", "batch.held", "batch.joined", "concession.reference", "count.over", "count.started",
	"deliver.over",
	"drawing.superseded", "firstoff.counted", "firstoff.none", "firstoff.open", "firstoff.overrule",
	"firstoff.reason",
	"firstoff.rejected", "machine.wrong", "op.none", "op.over", "op.unknown", "order.wrong", "place.unknown",
	"ready.begun", "ready.thing", "review.again",
	"review.none", "review.over", "rework.behind", "rework.none", "rework.over", "role",
	"role.settle",
}
