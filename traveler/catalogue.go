package traveler

import (
	"strconv"
	"strings"
)

// english is the catalogue of sentences that people read. {0}, {1} ... stand
// for what is filled in. A sentence says what is wrong, what the numbers are,
// and what to do.
var english = map[string]string{
	"form.uuid":    "must be a UUID such as 018f3b6e-7c1a-7b3e-9c4d-0123456789ab",
	"form.time":    "must be a time such as 2026-11-25T10:02:03Z, between the years 2000 and 9999",
	"form.action":  "is not an action that is known here",
	"form.missing": "is missing",
	"form.phase":   "must be setup or run",
	"form.number":  "is out of range",
	"form.text":    "is too long or holds control characters",

	"card.unknown":    "No batch has the card or works order “{0}”. Scan the card again, or type its code.",
	"card.several":    "Works order {0} has several open batches: {1}. Scan the card of the one you mean.",
	"card.gone":       "The card {0} came from a split that was taken back. Ask a supervisor.",
	"card.kind":       "“{0}” is not a batch card.",
	"station.unknown": "There is no machine “{0}”. Choose the machine again.",
	"person.unknown":  "The badge “{0}” is not known. Scan your badge again, or ask a supervisor to add it.",
	"time.future":     "The time {0} has not come yet. Set the clock of this device right.",

	"role":            "This is for somebody else: {0} may not do it. Let an inspector or a supervisor scan their badge and do it.",
	"undo.late":       "Only the one who made a scan can take it back, within two minutes. Ask a supervisor.",
	"control.unknown": "The scan {0} that this is about is not in this batch's record.",

	"batch.joined":       "Batch {0} was joined to {1}. Scan that card.",
	"batch.cancelled":    "Batch {0} is cancelled. Put the pieces aside and ask a supervisor.",
	"batch.held":         "Batch {0} is held: {1}. Do not work on it until an inspector frees it.",
	"drawing.superseded": "The drawing of {0} has changed from {1} to {2}. A supervisor must decide whether this batch goes on.",

	"op.none":    "Batch {0} has no operation left to do.",
	"op.unknown": "This batch has no operation {0}. It has {1}.",
	"op.over":    "Operation {0} is finished with {1} pieces. Do it again anyway?",

	"machine.wrong": "Operation {0} belongs to work centre {1}; this is {2}. Do it here anyway?",
	"order.wrong":   "Operation {0} comes after operation {1}, which has not been seen yet. Was it done, or shall this go first?",
	"firstoff.open": "The first piece of operation {0} has not been accepted yet. Run anyway?",

	"firstoff.none": "No first piece of operation {0} waits for a verdict. Hand it over first.",
	"counter.reset": "The machine's counter read {0} before and {1} now. It was taken to have been reset and counted from zero.",

	"count.started": "{0} pieces were started; operation {2} would have {1}. Count again, or say it anyway.",
	"count.over":    "Operation {0} has {1} pieces from operation {2}; {3} were counted. Count again, or ask a supervisor to correct operation {2}.",
	"over":          "Operation {0} counted {1} pieces, but operation {2} let only {3} go.",
	"closed":        "Operation {0} at {1} was left on when the machine closed. {2} min of closed time are not counted as work.",
	"uncounted":     "Operation {0} was finished with {1} of {2} pieces not counted.",

	"rework.behind": "Operation {0} comes after operation {1}; rework goes back, not on.",
	"rework.over":   "{1} pieces of operation {0} wait for rework; {2} were counted. Count again.",
	"rework.none":   "No pieces of operation {0} wait for rework.",

	"review.none":          "Nothing of batch {0} is set aside for review, or at several operations: say which.",
	"review.over":          "{1} pieces of operation {0} are set aside for review; {2} were decided. Count again.",
	"review.again":         "They are under review already: say good, concession, rework or scrap.",
	"concession.reference": "A concession needs its reference. Type it as the note.",

	"decide.choice": "“{0}” is not one of the choices.",
	"decide.gone":   "This question no longer stands as it did: the numbers have changed. Look at it again.",

	"split.none": "Say how many pieces go on under their own card.",
	"split.card": "The new card could not be given a code. Try again.",
	"split.over": "{0} pieces do not lie together anywhere; the most that do are {1}. Count again.",

	"join.stranger": "“{0}” is not a card that was split from this batch.",
	"join.over":     "Batch {0} is already joined or cancelled.",
	"join.nothing":  "The pieces of batch {0} do not lie together in front of one operation.",
	"join.busy":     "Batch {0} is still being worked on. Finish it first.",
	"join.passed":   "Batch {0} waits before operation {1}, which this batch has finished. Join anyway?",

	"deliver.over":  "{0} pieces to deliver, but {1} are good and not yet delivered. Count again, or say it anyway.",
	"place.unknown": "There is no place “{0}”.",

	"override.add":    "A new operation needs a number that is free and a work centre; {0} does not fit.",
	"override.pieces": "Say how many pieces.",
	"override.due":    "“{0}” is not a date such as 2026-11-25.",
	"override.what":   "“{0}” is nothing that can be changed for one batch.",

	"release.part":        "There is no part {0} with route revision {1}.",
	"release.card":        "The card {0} is in use, or is no batch code.",
	"release.pieces":      "Say how many pieces are started: a whole number from 1 to {0}.",
	"change.used":         "Route revision {1} of part {0} is in use and never changes. Give the new route a revision of its own.",
	"store.closing":       "The server is closing. Nothing was kept; it is sent again to the next one.",
	"store.gaveup":        "It took too long and was given up. It may have been kept: send it again as it is.",
	"store.full":          "The disk takes no more: {0} cannot grow. Nothing was kept of this. Make room, then send it again.",
	"store.locked":        "Another tallywalk has {0} open. End that one, or use it.",
	"store.readonly":      "{0} may not be written here. Nothing was kept. Give this account the right to write it.",
	"store.foreign":       "{0} is not a tallywalk data file. Name another folder with --data, or move the file away.",
	"store.damaged":       "{0} is damaged. Keep it as it is, and restore the last copy.",
	"store.short":         "{0} is shorter than it was: its end is missing. Keep it as it is, and restore the last copy.",
	"store.newer":         "{0} was written by a newer tallywalk (format {1}; this one reads {2}). Use the newer one.",
	"store.closed":        "The data file {0} is closed.",
	"store.io":            "The disk failed at {0}. Nothing was kept of this; send it again.",
	"store.moved":         "The record ends at {1}, not at {0}: somebody else has written. Read it anew and decide again.",
	"store.id":            "The id {0} is in the record already.",
	"store.entry":         "Entry {0} cannot be written down.",
	"store.entry.damaged": "{0} is damaged at entry {1}. Keep it as it is, and restore the last copy.",
	"store.nosuch":        "There is no entry {0}.",
	"store.row":           "The row {1} of {0} cannot be read.",
	"store.random":        "This computer gives no random numbers; no code can be made.",
	"store.internal":      "Something went wrong while this was decided. Nothing was kept of it; it is in the server's log.",
	"store.verify.kind":   "This kind of record cannot be checked.",
	"store.verify.head":   "The record says it ends at {0}, but goes to {1}.",
	"store.verify.extra":  "There are {0} ids for {1} entries.",
	"store.verify.gap":    "Entry {0} is missing; {1} comes instead.",
	"store.verify.chain":  "Entry {0} is not as it was written: its link does not fit the one before.",
	"store.verify.entry":  "Entry {0} cannot be read: {1}.",
	"store.verify.id":     "Entry {0} cannot be found by its id {1}.",

	"sheet.people":   "No people have badges yet; import people first.",
	"sheet.machines": "There are no machines yet; import machines first.",

	"web.kept":     "Kept.",
	"web.asks":     "Kept, and a supervisor is asked: {0}",
	"web.split":    "{0} pieces go on under the card {1}. Print it, and put it with them.",
	"web.internal": "Something went wrong here. It is in the server's log; what you sent was not lost if it was answered before.",
	"web.content":  "Send JSON, with Content-Type: application/json.",
	"web.json":     "This is not the JSON that is wanted: {0}.",
	"web.time":     "“{0}” is not a time such as 2026-11-25T10:02:03Z.",
	"web.type":     "cannot be a {0}",
	"web.scans":    "must hold 1 to 500 scans",
	"web.date":     "“{0}” is not a date such as 2026-11-25",
	"web.paper":    "must be A4 or A5",
	"web.nothing":  "There is nothing at {0}.",
	"web.board":    "There is no board “{0}”.",
	"web.host":     "This server does not go by the name “{0}”. Use the address on the cards, or start it with --host {0}.",
	"web.origin":   "A page of {0} may not talk to this server.",
	"web.signin":   "Sign in first.",
	"web.role":     "This is not for the role {0}.",
	"web.wrong":    "Name or password is wrong.",
	"web.wait":     "Too many wrong tries. Wait a minute.",
	"web.code":     "This code is not valid any more. Ask for a new one.",
	"web.screen":   "This wall-screen link is not valid any more. Ask a supervisor for a new one.",
	"web.name":     "must be given: 1 to 60 characters",
	"web.rolename": "must be operator, inspector, supervisor, planner or administrator, not “{0}”",
	"web.password": "must have 10 to 200 characters",
	"web.self":     "is your own; somebody else must take it away",

	"plan.corner":               "need names of their own; “{0}” is empty, used twice or the name of a machine",
	"plan.aisle":                "must lead from and to a machine or a corner; there is no “{0}”",
	"plan.length":               "from {0} to {1} has no sensible length",
	"plan.picture":              "must be a PNG, JPEG or SVG file of at most 1 MB",
	"select.period":             "“{0}” is not before {1}",
	"select.long":               "is too far back: machines are looked at over {0} days at most",
	"select.choice":             "cannot be “{0}”; choose one of {1}",
	"change.taken":              "Part {0} has a route revision {1} already. Give the new one another name.",
	"kpi.withheld":              "OEE and NEE are withheld: their effectiveness divides by a planned cycle that is itself in question, and their availability counts as lost every hour without work. Worker efficiency is withheld because it is about persons.",
	"compare.routes":            "must be one to four routes of the part",
	"compare.currency":          "“{0}” is no currency of ISO 4217, such as EUR",
	"compare.combine":           "must name operations of the route that are done in the shop",
	"compare.order":             "of operation {0}: {1} must go from low over likely to high, and a yield from above 0 to 1",
	"compare.two":               "must be another route of the part than before",
	"compare.members":           "must be 1 to 30 parts",
	"pace.none":                 "Nothing was done at operation {2} of part {0}, route {1}, in the last year.",
	"screen.board":              "must be waits, ground or pace, not “{0}”",
	"screen.range":              "must be from {0} to {1}",
	"screen.theme":              "must be auto, light, dark or clock",
	"screen.clock":              "“{0}” is not a time of day such as 19:00",
	"calendar.zone":             "must name the shop's time zone, such as Europe/Berlin",
	"calendar.fault":            "make no sense: {0}",
	"change.calendar":           "The calendar {0} makes no sense: {1}",
	"owner.title":               "Routes of part {0}",
	"owner.under":               "A batch of {0} pieces started; money in {1}. Intervals are 95 % and count batches, not pieces.",
	"owner.run":                 "run",
	"owner.setup":               "set-up",
	"owner.away":                "outside",
	"owner.wait":                "carried, waiting, stopped",
	"owner.curve":               "Cost of a good piece in {0} over the batch size",
	"owner.here":                "this batch",
	"owner.break":               "equal at {0}",
	"owner.setups":              "Set-ups / clampings / times carried",
	"owner.metres":              "Carried",
	"owner.setupmin":            "Set-up of a batch",
	"owner.eachmin":             "Machine minutes of a good piece",
	"owner.yield":               "Good of started",
	"owner.perclamping":         "the same for each clamping",
	"owner.start":               "Pieces to start for those wanted",
	"owner.eachcost":            "Cost of a good piece",
	"owner.machine":             "   machine",
	"owner.labour":              "   labour",
	"owner.handling":            "   handling",
	"owner.material":            "   material and outside work",
	"owner.scrap":               "   of it, in pieces that were lost",
	"owner.lead":                "Lead time, median / P85",
	"owner.wip":                 "Batches on the floor, mean",
	"owner.oneoff":              "Once: programs, fixtures, prove-out",
	"owner.rests":               "Batches / values planned / assumed",
	"owner.rests.of":            "{0} / {1} / {2}",
	"owner.nothing":             "Nothing can be said of {1} against {0} yet.",
	"owner.cost.less":           "Route {0} costs {2} less for a good piece than route {1} ({3}; between {4} and {5}).",
	"owner.cost.more":           "Route {0} costs {2} more for a good piece than route {1} ({3}; between {4} and {5}).",
	"owner.cost.less.unsure":    "Route {0} would cost {2} less for a good piece than route {1} ({3}); this rests on plans or assumptions, so it has no interval.",
	"owner.cost.more.unsure":    "Route {0} would cost {2} more for a good piece than route {1} ({3}); this rests on plans or assumptions, so it has no interval.",
	"owner.cost.either":         "Whether route {0} is cheaper than route {1} cannot be told yet: the difference lies between {2} and {3} for a good piece.",
	"owner.minutes.less":        "Route {0} takes {2} less of machine time for a good piece than route {1} ({3}; between {4} and {5}).",
	"owner.minutes.more":        "Route {0} takes {2} more of machine time for a good piece than route {1} ({3}; between {4} and {5}).",
	"owner.minutes.less.unsure": "Route {0} would take {2} less of machine time for a good piece than route {1} ({3}); this rests on plans or assumptions, so it has no interval.",
	"owner.minutes.more.unsure": "Route {0} would take {2} more of machine time for a good piece than route {1} ({3}); this rests on plans or assumptions, so it has no interval.",
	"owner.minutes.either":      "Whether route {0} takes less machine time than route {1} cannot be told yet: the difference lies between {2} and {3} for a good piece.",
	"owner.breaks.none":         "Route {0} is cheaper than route {1} at every batch size from 1 to 5,000.",
	"owner.breaks.same":         "Routes {0} and {1} cost the same.",
	"owner.route":               "Route {0}",
	"owner.breaks.from":         "From {0} pieces on, route {1} is the cheaper one.",
	"owner.what.setup":          "set-up",
	"owner.what.piece":          "time of a piece",
	"owner.what.yield":          "yield",
	"owner.note.intervals":      "Measured values come from batches that are done; of an operation with fewer than {0} batches the planned value is taken. Visits with an inferred start or end are left out of times.",
	"owner.note.lead":           "A lead time is measured where batches have run on the route; else work and this shop's usual waits are added up, and P85 as if all went badly together.",
	"owner.note.clamping":       "In this shop each clamping goes with {0} of the pieces lost (95 %: {1} to {2}; {3} batches of {4} parts). This is an association: other things differ between routes, too.",
	"owner.note.unrated":        "{0}: the machines of {1} have no rate, so they cost nothing here.",
	"owner.note.assumption":     "{0}: what matters most is the {2} of operation {1}; a good piece costs {3} to {4} within what it may be.",
	"owner.note.caution":        "Freed hours are money only where they replace overtime, outside work or refused orders.",
	"change.code":               "The code {0} cannot be given to machine {1}: it is no machine code, or another machine has it.",
	"scan.conflict":             "The id {0} was used for something else. Give this scan an id of its own.",
	"release.conflict":          "The id {0} was used for something else. Give this batch an id of its own.",
}

// catalogues holds the sentences of each language; a sentence that one lacks is
// said in English.
var catalogues = map[string]map[string]string{"en": english}

// Text is the sentence in a language.
func (m Msg) Text(language string) string {
	if m.Key == "" {
		return ""
	}
	t, ok := catalogues[language][m.Key]
	if !ok {
		if t, ok = english[m.Key]; !ok {
			return strings.TrimSpace(m.Key + " " + strings.Join(m.Args, " "))
		}
	}
	pairs := make([]string, 0, 2*len(m.Args))
	for i, a := range m.Args {
		pairs = append(pairs, "{"+strconv.Itoa(i)+"}", a)
	}
	return strings.NewReplacer(pairs...).Replace(t)
}
