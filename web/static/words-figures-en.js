// English of the pages of history and figures.
const common = {
  "filter.part": "Part", "filter.all-parts": "all parts", "filter.route": "Route", "filter.all-routes": "all routes", "filter.customer": "Customer", "filter.works_order": "Works order",
  "filter.period": "Period", "filter.from": "From", "filter.to": "To", "period.30": "last 30 days", "period.91": "last quarter", "period.365": "last year", "period.1095": "last three years", "period.3650": "last ten years", "period.own": "own dates",
  "percent": "{0} %", "few": "too few batches for an interval", "between.95": "95 %: {0} to {1}", "of": "{0} of {1}", "table": "Table", "from": "From", "to": "To", "batches.n.one": "1 batch", "batches.n.other": "{0} batches",
  "type7": "Percentiles are of type 7, as spreadsheets’ PERCENTILE.INC.", "route.rev": "route {0}", "head.lead": "Lead time", "choose-part": "Choose a part.",
};

const history = {
  "nav.figures": "Figures", "nav.compare": "Compare", "way.compare": "Compare", "way.compare.why": "routes of a part side by side", "nav.figures.label": "Figures", "nav.history": "History", "history.title": "History", "way.history": "History", "way.history.why": "lead times: how long, and where the days went",
  "history.p50": "Median lead time", "history.p80": "8 out of 10 within", "history.p95": "19 out of 20 within", "history.few95": "needs 20 batches", "history.floor": "First set-up to finish", "history.floor.why": "median",
  "history.efficiency": "Cutting time as share of lead time", "history.efficiency.why": "run only, without set-up", "history.on-time": "Complete and on time (OTIF)", "history.on-time.pieces": "{0} of the pieces",
  "history.wip": "Average batches in progress", "history.wip.why": "{0} a day for {1} days",
  "history.rests.one": "From 1 batch that ended in the period.", "history.rests.other": "From {0} batches that ended in the period.", "history.left.one": "1 cancelled or joined batch not counted.", "history.left.other": "{0} cancelled or joined batches not counted.",
  "history.inferred.one": "In 1 batch something was estimated.", "history.inferred.other": "In {0} batches something was estimated.",
  "history.none": "No batch ended in this period. Choose a longer one, or another part.", "history.only-open": "No batch of these has ended yet; those on the floor are below.",
  "history.distribution": "How long they took", "history.distribution.label": "Lead times of {0} batches as a distribution", "history.over": "Over time", "history.over.label": "Lead times of {0} batches by the day they ended",
  "history.over.how": "A dot is a batch: click or tap it for its story. Lines are percentiles by month, or by week of a shorter period.", "history.newest": "The newest {0} batches are drawn.",
  "history.where": "Where the days went", "history.where.mean": "An average batch took {0}; this is where it went.", "history.where.over": "How that changed",
  "history.slowest": "The slowest, and why", "history.mostly": "mainly {0}: {1}", "history.on-floor": "Still on the floor", "history.on-floor.why.one": "1 batch has not ended; its time so far is in none of the figures above.", "history.on-floor.why.other": "{0} batches have not ended; their time so far is in none of the figures above.",
};

const losses = {
  "nav.losses": "Losses", "losses.title": "Losses", "way.losses": "Losses", "way.losses.why": "what scrap, rework and stops cost, and where they come from", "hours": "{0} h",
  "losses.kind": "Show", "losses.kind.scrap": "Scrap", "losses.kind.rework": "Rework", "losses.kind.review": "Review", "losses.kind.stop": "Stops",
  "losses.by": "Group by", "losses.by.reason": "reason", "losses.by.found": "operation that found it", "losses.by.caused": "operation that caused it", "losses.by.part": "part", "losses.by.machine": "machine", "losses.by.clampings": "number of clampings at the causing op",
  "losses.measure": "In", "losses.measure.cost": "cost", "losses.measure.pieces": "pieces", "losses.measure.events": "number of stops", "losses.measure.minutes": "time", "losses.cost": "Cost",
  "losses.operation": "Operation", "losses.all-operations": "all operations", "losses.stops.one": "1 stop", "losses.stops.other": "{0} stops", "losses.unsaid": "no reason given",
  "losses.clampings.one": "1 clamping", "losses.clampings.other": "{0} clampings", "losses.operation-of": "{0} op. {1}",
  "losses.work": "Machine hours lost in scrap", "losses.work.why": "planned time of the operations up to where they were found", "losses.again.why": "planned time of the operation to be done again", "losses.stood": "Downtime", "losses.stood.why": "while the machine was open",
  "losses.cost.why": "that time at the machines’ rates", "losses.rests.one": "From 1 batch that ended in the period or is on the floor.", "losses.rests.other": "From {0} batches that ended in the period or are on the floor.",
  "losses.only-operation": "Only of operation {0}: {1}.", "losses.all-machines": "all machines", "losses.only-machine": "Only what was found, or stopped, at {0}.", "losses.caused": "what it caused", "losses.found": "what it found", "losses.at": "stops at it",
  "losses.no-cost": "No costs are shown: these machines have no rate: {0}. With a rate per hour in the list of machines they appear.",
  "losses.pareto": "{0} by {1}, in {2}", "losses.cumulated": "cumulative", "losses.batches": "Batches it comes from", "losses.none": "Nothing of this was lost in the period.", "losses.no-batches": "No batch ended in this period, and none is on the floor. Choose a longer one, or another part.",
  "losses.more.one": "1 smaller bar", "losses.more.other": "{0} smaller bars", "losses.behind": "The batches that lost most", "losses.behind-bar": "The batches that lost most by “{0}”", "losses.behind-all": "All of them", "losses.ended": "Ended", "losses.open": "on the floor",
  "losses.chart": "{0} batch by batch", "losses.of-operation": "of operation {0}", "losses.chart.few": "There are too few batches that are done for a control chart.", "losses.chart.label": "{0} of {1} batches, in the order in which they ended, with control limits",
  "losses.centre": "mean, {0}", "losses.high": "upper limit", "losses.low": "lower limit", "losses.share": "{0} of {1} pieces, {2}", "losses.lost": "Lost", "losses.share-of": "Share", "losses.limits": "Limits", "losses.revs": "Revisions",
  "losses.no-signals": "No signal: since {0} the share has been {1} and has not changed by more than chance makes.", "losses.rare.one": "Only 1 piece was lost in {1} batches: too few for control limits. The batches are listed above.", "losses.rare.other": "Only {0} pieces were lost in {1} batches: too few for control limits. The batches are listed above.", "losses.until": "to", "losses.above": "above the mean", "losses.below": "below the mean",
  "losses.rule.beyond3": "beyond the limit", "losses.rule.two": "2 of 3 beyond 2 sigma", "losses.rule.four": "4 of 5 beyond 1 sigma", "losses.rule.run": "nine or more in a row on this side",
  "losses.change.route": "route {0} from {1}", "losses.change.drawing": "drawing {0} from {1}", "losses.changed": "What changed on the part:",
  "losses.chart.how": "A dot is a batch, in the order in which they ended. The limits are three sigma, {0} times as wide as if pieces were lost by chance alone, since batches differ.", "losses.chart.how.rare": "A dot is a batch, in the order in which they ended.", "losses.chart.how.alike": "A dot is a batch, in the order in which they ended. The limits are three sigma; batches differ no more than chance makes them.", "losses.chart.how.diamond": "A diamond breaks a rule of the Western Electric handbook (1956).",
  "losses.chart.all": "All parts are in it: choose a part to see it alone, and where its drawing and route changed.", "losses.chart.newest.one": "The newest batch is shown.", "losses.chart.newest.other": "The newest {0} batches are shown.",
  "yield.title": "Yield along the route", "yield.how": "First pass: good without rework or concession, of the pieces decided. Intervals allow for the spread between batches. Click an op to see its scrap reasons.", "yield.first": "First-pass yield",
  "yield.presented": "in", "yield.first_good": "right first time", "yield.scrap": "scrap", "yield.rework": "rework", "yield.undecided": "on hold", "yield.concession": "concession", "yield.assumed": "not counted", "yield.route": "{0} {1}, route {2}",
  "yield.aside": "added for some batches, not in the rolled yield", "yield.rolled": "Rolled throughput yield", "yield.rolled.why": "product of the operations", "yield.normalised": "product of the operations; {0} each in the mean (normalised)", "yield.final": "Good at the end", "yield.final.why": "{0} of {1} pieces, reworked ones too",
};

const machines = {
  "nav.machines": "Machines", "machines.title": "Machines", "way.machines": "Machines", "way.machines.why": "what they did with their hours, and what is ahead of them", "machines.view.hours": "Hours used", "machines.view.ahead": "Load and dates",
  "machines.open": "Open", "machines.rest": "idle or not booked", "machines.past-open": "ran {0} outside working hours", "machines.no-calendar": "no calendar: the whole period counts as open",
  "machines.since": "From {0} on: nothing was scanned before.", "machines.how": "Clock time within the period; a machine that held several batches shares its time among them. Stops and waits for a first-off count while the machine was open. Click or tap a machine for its visits.", "machines.quiet": "Nothing was scanned at: {0}.", "machines.none": "No machine did anything in this period. Choose a longer one.",
  "machines.choose": "Click or tap a machine to see the visits its hours come from.", "machines.visits": "Visits at {0}", "machines.visits.newest": "The newest {0} of {1}.", "machines.visits.how": "Times of a visit are its own, also where the machine shared its hours among several batches.", "machines.visits.none": "No visits in this period.", "machines.begun": "Begun", "machines.its-stops": "Downtime reasons", "machines.its-scrap": "Scrap found at it",
  "machines.kpis": "Key figures of ISO 22400-2", "machines.kpis.how": "APT is run, AUST set-up with the wait for a first-off, ADET stops, AUPT is APT + AUST, AUBT is AUPT + ADET, PBT the open time; PQ, GQ, SQ and RQ are pieces made, good, scrapped and sent to rework; PRI is the planned run time of a piece.",
  "machines.weeks": "Weeks ahead", "machines.cautions": "Do not quote these dates: planned time left plus usual queue time. They do not allow for the jobs in front in the queue, and what is not released yet is not in them. The safe date takes every wait as long as all but the longest 15 %.",
  "machines.load": "Load by work centre and week", "machines.load.of": "{0} of {1}", "machines.load.free": "0 of {0}", "machines.load.how": "Planned hours of the batches on the floor, in the week in which the operation likely begins, of the machine hours that the calendars open; of this week, those that are left. What lies later stands in the last week.",
  "machines.load.idle": "No work ahead: {0}.", "machines.load.none": "No batch is on the floor.", "machines.load.done": "The batches on the floor have no work left to do.", "machines.over": "overloaded, {0}", "machines.closed": "closed", "machines.this-week": "rest of this week", "machines.week": "week from {0}",
  "machines.dates": "Expected finish dates", "machines.dates.n.one": "1 batch on the floor", "machines.dates.n.other": "{0} batches on the floor", "machines.dates.likely.one": "1 likely late", "machines.dates.likely.other": "{0} likely late", "machines.dates.cautious.one": "1 at risk", "machines.dates.cautious.other": "{0} at risk",
  "machines.left": "Work left", "machines.left.none": "none left", "machines.left.none.why": "all operations done, not finished or delivered yet", "machines.steps.one": "1 operation", "machines.steps.other": "{0} operations", "machines.next": "next {0}", "machines.likely": "Expected", "machines.cautious": "Safe date", "machines.no-waits": "without some waits: no history of them",
  "machines.late.now": "late already", "machines.late.likely": "likely late", "machines.late.cautious": "at risk", "machines.dates.label": "expected {0}, safe {1}, due {2}", "machines.key.likely": "expected", "machines.key.cautious": "safe date", "machines.key.due-mark": "due, end of the day",
  "machines.rests": "What the dates rest on: waits of the last {0} days", "machines.rests.none": "No batch has waited yet, so waits count as nothing.", "machines.waits.n": "Waits", "machines.rests.how": "From the end of the operation before to the first set-up or run at the work centre, in clock time, nights and week-ends in it. Expected takes the P50, safe the P85; of a wait that goes on already, only what is left.",
};

const fits = {
  "nav.fits": "Planned times", "fits.title": "Planned times", "way.fits": "Planned times", "way.fits.why": "which planned times are out, and a new revision with better ones", "fits.link": "Which planned times are out: checked",
  "fits.tested.one": "1 planned time checked", "fits.tested.other": "{0} planned times checked", "fits.off.one": "1 planned time is out", "fits.off.other": "{0} planned times are out",
  "fits.how": "Each is tested against the batches as a whole (t test of the logarithms of actual to plan; the actual is their geometric mean). Of those called off, {0} % at most are so by chance (Benjamini and Hochberg 1995); less than {1} % off, or fewer than {2} batches, is never called off.",
  "fits.off.title": "Planned time is out", "fits.all-fit": "No planned time is out: those checked are right, or chance could be why not.", "fits.too-few": "Nothing could be tested: no planned time has {0} batches of which start and finish were scanned. Choose a longer period.", "fits.planners": "A planner takes them over into a new route revision.",
  "fits.fitting.one": "1 checked, plan is right", "fits.fitting.other": "{0} checked, plan is right", "fits.untested.one": "1 not checked: fewer than {1} batches", "fits.untested.other": "{0} not checked: fewer than {1} batches",
  "fits.what": "What", "fits.what.setup": "set-up", "fits.what.piece": "per piece", "fits.plan": "Planned", "fits.actual": "Actual", "fits.ratio": "Against plan", "fits.left-out.one": "1 not counted", "fits.left-out.other": "{0} not counted", "fits.p": "p", "fits.p.less": "< {0}",
  "fits.take": "Update {0} from route {1}", "fits.which": "Which", "fits.old": "Planned now", "fits.new": "New, minutes", "fits.min": "{0} min", "fits.cycle.one": "a cycle of 1 piece", "fits.cycle.other": "a cycle of {0} pieces",
  "fits.rev": "Name of the new revision", "fits.go.one": "Release route {1} with 1 new time", "fits.go.other": "Release route {1} with {0} new times", "fits.go.none": "Choose what to take over", "fits.stays": "Route {0} stays as it is, and batches on the floor go on with it. The new one is there for the next releases.",
  "fits.done": "Route {0} of {1} is released. Batches on the floor go on with route {2}.",
};

const trace = {
  "nav.trace": "Trace", "trace.title": "Trace", "way.trace": "Trace", "way.trace.why": "from material lot to deliveries, and back", "trace.find": "Material lot, works order, customer, card or delivery note", "trace.go": "Trace",
  "trace.empty": "Type a material lot, a works order, a customer, a card or a delivery note, whole as it stands on the paper.", "trace.none": "Nothing is known of “{0}”. Material lots, works orders, customers, cards and delivery notes are found when typed whole.", "trace.title-of": "{0}",
  "trace.families.one": "in 1 family", "trace.families.other": "in {0} families", "trace.newest": "Found {0} batches; the newest {1} are shown. Numbers and deliveries are of those. Ask for something narrower to see all.", "trace.printed": "Traced {0}.",
  "trace.started": "started", "trace.good": "good at the end", "trace.delivered": "delivered", "trace.stock": "to stock", "trace.floor": "on the floor", "trace.scrap": "scrap", "trace.review": "in review", "trace.missing": "missing", "trace.concession": "by concession",
  "trace.customers": "Customers", "trace.no-lot": "no lot said", "trace.deliveries.one": "1 delivery", "trace.deliveries.other": "{0} deliveries", "trace.no-deliveries": "Nothing of it was delivered.", "trace.note": "Delivery note",
  "trace.way": "From material to delivery", "trace.show": "Show the operations", "trace.hide": "Hide the operations", "trace.print": "Print", "trace.outside": "outside, {0}", "trace.split": "{0} pieces split off from {1},", "trace.joined": "{0} pieces joined to {1},",
  "trace.what": "{0} {1}, {2}", "trace.line": "line {0}", "trace.started-n.one": "1 piece started", "trace.started-n.other": "{0} pieces started", "trace.in-review": "{0} in review", "trace.conceded": "{0} let pass at operation {1} with concession {2}, {3}",
  "trace.on": "on {0}", "trace.to-stock": "to stock", "trace.on-floor": "on the floor", "trace.nothing-left": "nothing delivered", "trace.csv": "Save as CSV:",
};

const check = {
  "check.title": "Figures worked out twice", "way.check": "Figures twice", "way.check.why": "the same figures by a second, plain way, from the scans", "nav.check": "Figures twice",
  "check.what": "The pages’ figures come from each batch’s story. Here they are worked out again straight from its scans, by a second way that shares nothing with the first. Where a batch’s scans are tangled, the second way gives up rather than guess; those batches are left out of both columns.",
  "check.most": "Newest batches", "check.figure": "Figure", "check.shown": "As shown", "check.plain": "From the scans", "check.same": "the same", "check.differs": "differs", "check.differ": "Batches on which the two ways differ",
  "check.batches.one": "1 batch looked at.", "check.batches.other": "{0} batches looked at.", "check.agree.one": "Of 1, both ways say the same.", "check.agree.other": "Of {0}, both ways say the same in everything.",
  "check.tangled.one": "1 batch that the plain way gives up on", "check.tangled.other": "{0} batches that the plain way gives up on",
  "check.lead_p50": "Lead time, median", "check.lead_p80": "Lead time, P80", "check.lead_p95": "Lead time, P95", "check.lead": "Lead time", "check.run": "Run", "check.setup": "Set-up", "check.stop": "Stop", "check.good": "Good pieces", "check.scrap": "Scrap", "check.trips": "Times carried", "check.rest": "Waiting and being carried", "check.presented": "Pieces at an operation for the first time", "check.first": "Of them, good at once", "check.in_time": "Pieces delivered by their date", "check.rolled": "Yield along the route",
};

export const figures = {...check, ...common, ...history, ...losses, ...machines, ...fits, ...trace};
