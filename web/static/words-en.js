// English. Sentences say what is wrong, what the numbers are, and what to do.
const pages = {
  "title": "{0} – tallywalk", "loading": "Getting the newest.", "again": "Try again", "close": "Close", "leave": "Leave it", "go": "Do it",
  "remove": "Remove", "removed": "{0} was taken off.", "none": "–", "now": "now", "next": "next", "since": "since", "by": "by {0}", "late": "late",
  "copy": "Copy", "copied": "Copied.", "copy.by-hand": "The browser did not let it be copied. Mark it and copy it by hand.", "csv": "Save as CSV",
  "net.down": "The server does not answer. Look whether it runs and this device has its network, then try again.",
  "net.odd": "The server answered with {0} and no reason. Try again; if it stays, look into the server's log.",
  "nav.home": "tallywalk, first page", "nav.label": "Pages", "nav.waits": "Waits", "nav.batches": "Batches", "nav.questions": "Questions",
  "nav.station": "Station", "nav.stations": "Stations", "nav.accounts": "Accounts",
  "who.in": "{0}, {1}", "sign-out": "Sign out",
  "demo.still": "Open to everybody: nobody signs in here.",
  "demo": "Demo: an invented shop; nobody signs in and nothing is kept. {0} minutes of the shop pass in one of yours.",
  "link.step": "in step", "link.opening": "connecting", "link.stale": "No news for {0}. What you see is that old.",
  "link.out": "This device is not let in any more. Sign in again.",
  "role.watcher": "looks only", "role.operator": "operator", "role.inspector": "inspector", "role.supervisor": "supervisor", "role.planner": "planner", "role.administrator": "administrator",
  "role.operator.may": "scans", "role.inspector.may": "first-off, review, hold and release too", "role.supervisor.may": "questions, corrections, batches and stations too",
  "role.planner.may": "releases batches, loads routes", "role.administrator.may": "everything, accounts too",
};

const home = {
  "home.title": "What is where", "home.free": "{0} free", "home.wait.one": "1 waits:", "home.wait.other": "{0} wait, the longest:", "home.sheets": "Sheets to print",
  "home.no-machines": "There are no machines yet. Load them with “tallywalk import machines FILE”, then routes and batches; README shows how.",
  "verb.setting": "is being set for", "verb.firstoff": "waits for the first-off of", "verb.ready": "is set for", "verb.running": "runs", "verb.stopped": "is stopped with", "verb.outside": "has sent out", "verb.waiting": "has waiting",
  "way.waits": "Waits", "way.waits.why": "which batches wait, where, since when", "way.questions": "Questions", "way.questions.why": "nothing waits for an answer",
  "way.batches": "Batches", "way.batches.why": "find a batch and its whole story", "way.release": "Release a batch", "way.release.why": "then print its card",
  "way.station": "Station", "way.station.why": "scan cards at a machine", "way.wall": "Wall screen", "way.wall.why": "the waits, to read from across the shop",
  "way.stations": "Stations and screens", "way.stations.why": "enrol a tablet, hang up a screen", "way.accounts": "Accounts", "way.accounts.why": "who may sign in, and badges",
  "sheet.scanner": "Scanner test card", "sheet.badges": "Badges", "sheet.plates": "Machine plates", "sheet.actions": "Action sheet", "sheet.for": "Machine",
  "cautions": "Keep in mind",
  "caution.stop": "The screen does not stop a machine. Before setting, clearing or measuring, follow the machine's own isolation procedure and local rules.",
  "caution.quarantine": "Scrap and rework labels do not replace the shop's quarantine procedure; release of parts stays with the authorised inspector.",
  "caution.people": "Times by person are personal data: they are off by default; where they are turned on, local employment and privacy law applies.",
};

const units = {
  "span.s": "{0} s", "span.m": "{0} min", "span.h": "{0} h", "span.d": "{0} d", "span.hm": "{0} h {1} min", "span.dh": "{0} d {1} h", "span.ms": "{0} min {1} s",
  "metres": "{0} m carried", "pieces.one": "1 piece", "pieces.other": "{0} pieces",
  "number.1": "one", "number.2": "two", "number.3": "three",
  "operation.of": "operation {0}", "at.machine": "at {0}", "arrived": "arrived here", "good.of": "{0} good of {1}", "good.wanted": "{0} of {1}",
  "due.none": "no date", "late.days": "late {0} d", "priority.is": "priority {0}", "past": "{0} past plan", "uncertain": "time uncertain",
  "scale.so-far": "planned {0}, so far {1}", "scale.was": "planned {0}, was {1}", "scale.planned": "planned {0}", "setup": "set-up", "piece": "a piece",
  "one-batch.one": "One batch, 1 piece: too little to conclude from.", "one-batch.other": "One batch, {0} pieces: too little to conclude from.",
  "left-out.one": "1 visit left out: it still runs, or its end was not told.", "left-out.other": "{0} visits left out: they still run, or their end was not told.",
};

const waits = {
  "waits.title": "Waits", "waits.find": "Show only", "waits.rule": "In order of due date, then priority, then the longest wait.",
  "waits.calendar": "No calendar: the shop counts as always open, so working time is the time shown.",
  "waits.none": "nothing waits", "waits.none-found": "nothing found", "waits.nothing-found": "Nothing fits what you typed.", "waits.empty": "There are no machines and no batches yet.",
  "waits.here.one": "1 waits, {1}", "waits.here.other": "{0} wait, {1}", "waits.batches.one": "1 batch waits", "waits.batches.other": "{0} batches wait",
  "waits.worked.one": "1 is worked on", "waits.worked.other": "{0} are worked on", "waits.late.one": "1 late", "waits.late.other": "{0} late", "waits.held.one": "1 held", "waits.held.other": "{0} held",
  "machine.free": "free", "stop.unsaid": "no reason said",
  "head.batch": "Batch", "head.part": "Part", "head.operation": "Operation", "head.pieces": "Pieces", "head.waiting": "Waiting", "head.due": "Due", "head.why": "Why", "head.good": "Good",
  "head.state": "State", "head.customer": "Customer", "head.released": "Released", "head.machine": "Machine", "head.since": "Since", "head.work": "Work", "head.plan": "Planned and actual",
  "head.seq": "No.", "head.at": "When", "head.by": "Who, where", "head.said": "What was said", "head.fate": "What became of it",
  "state.waiting": "waiting", "state.setting": "setting", "state.firstoff": "first-off", "state.ready": "set, not running", "state.running": "running", "state.stopped": "stopped", "state.outside": "outside",
  "state.finished": "finished", "state.held": "held", "state.review": "review", "state.rework": "rework", "state.done": "done", "state.cancelled": "cancelled",
  "wall.settings": "Wall screen", "wall.m": "Viewing distance, m", "wall.in": "Screen diagonal, inches", "wall.theme": "Colours", "wall.show": "Show as wall screen",
  "theme.auto": "as the screen is set", "theme.light": "light", "theme.dark": "dark", "wall.capital": "Capitals will be {0} mm high.",
  "wall.waits.one": "1 batch waits", "wall.waits.other": "{0} wait", "wall.late.one": "1 late", "wall.late.other": "{0} late", "wall.page": "page {0} of {1}", "wall.n.one": "1 waits", "wall.n.other": "{0} wait",
  "wall.none": "none", "wall.past.one": "Past plan or stopped: 1", "wall.past.other": "Past plan or stopped: {0}", "wall.over": "over by", "wall.no-past": "Nothing runs past its plan.",
  "wall.more.one": "and 1 more centre, {1} wait", "wall.more.other": "and {0} more centres, {1} wait", "wall.more-past.one": "and 1 more past plan", "wall.more-past.other": "and {0} more past plan",
  "wall.out": "This screen's link is not valid any more. Ask a supervisor for a new one.",
};

const batch = {
  "batch.title": "Batch {0}", "batch.questions": "Questions", "batch.operations": "Operations", "batch.visits": "Visits", "batch.other": "Scans of no visit",
  "batch.other.why": "What was said about the batch as a whole, and what was refused.",
  "figure.started": "started", "figure.wanted": "wanted", "figure.good": "good", "figure.good.end": "good at the end", "figure.scrap": "scrap", "figure.rework": "rework", "figure.rework_open": "to rework", "figure.review": "in review",
  "figure.missing": "missing", "figure.to_do": "to do", "figure.delivered": "delivered", "figure.in": "in",
  "fact.card": "Card", "fact.due": "Due", "fact.revs": "Revisions", "fact.customer": "Customer", "fact.lots": "Material lots", "fact.priority": "Priority", "fact.released": "Released", "fact.walk": "Walk",
  "fact.parent": "Split from", "fact.split_off": "Split off", "fact.joined": "Joined", "fact.family": "Family", "revs": "drawing {0}, route {1}",
  "walk.one": "{1} m {2}, 1 trip", "walk.other": "{1} m {2}, {0} trips", "walk.rectangular": "along straight aisles",
  "where.at": "at {0}, operation {1}, {2}", "where.before": "before {0}, operation {1}", "where.joined": "joined to", "where.none": "no operation left to do",
  "card.print": "Job card {0}", "hold": "Hold", "hold.ask": "Hold …", "hold.title": "Hold batch {0}", "hold.reason": "Why? It is shown wherever the card is scanned.", "held.done": "Held. Nobody works on it until it is freed.",
  "free": "Release from hold", "freed.done": "Released from hold.", "cancel.ask": "Cancel …", "cancel.title": "Cancel batch {0}", "cancel.do": "Cancel the batch", "cancel.reason": "Why?",
  "cancel.what": "Nobody works on a cancelled batch. Its record stays.", "cancel.stock": "Good pieces that go to stock", "cancelled.done": "Cancelled.",
  "visit.title": "Operation {0} at {1}", "visit.arrived": "arrived", "visit.finished": "finished", "visits.none": "No machine has seen this batch yet.",
  "visit.scans.one": "1 scan behind this", "visit.scans.other": "{0} scans behind this", "lines.none": "None.",
  "part.transport": "transport", "part.queue": "queue", "part.between": "between", "part.setup": "set-up", "part.firstoff": "first-off", "part.run": "run", "part.stop": "stop", "part.outside": "outside",
  "strip.label": "{0} since {1}, to scale.", "strip.at": "operation {0} at {1}",
  "inferred.start": "start not scanned, inferred", "inferred.arrival": "arrival not scanned, inferred", "inferred.finish": "finish not scanned, inferred", "inferred.count": "pieces not counted, inferred",
  "rework.for": "rework for operation {0}", "verdict.waiting": "first piece waits", "verdict.accepted": "first piece accepted", "verdict.refused": "first piece refused",
  "setup.pieces.one": "1 piece made in set-up", "setup.pieces.other": "{0} pieces made in set-up", "added": "added on the floor", "closed": "finished", "caused.at": "caused at {0}",
  "op.over.one": "1 piece more than came in", "op.over.other": "{0} pieces more than came in", "op.assumed.one": "1 piece assumed passed", "op.assumed.other": "{0} pieces assumed passed",
  "op.concession.one": "1 by concession", "op.concession.other": "{0} by concession",
};

const scans = {
  "action.arrive": "arrived", "action.setup": "set-up begins", "action.firstoff": "first-off", "action.run": "run", "action.stop": "stop", "action.count": "count", "action.finish": "finish", "action.hold": "hold",
  "action.free": "released from hold", "action.split": "split", "action.join": "join", "action.move": "move", "action.send": "sent outside", "action.receive": "received", "action.decide": "decided", "action.correct": "correction",
  "action.undo": "taken back", "action.override": "plan changed", "action.deliver": "delivered", "action.cancel": "cancelled", "action.on": "came to the station", "action.off": "left the station",
  "count.good": "{0} good", "count.scrap": "{0} scrap", "count.rework": "{0} to rework", "count.review": "{0} to review", "count.missing": "{0} missing", "count.pieces": "{0} pieces", "count.reads": "counter reads {0}",
  "phase.setup": "while setting", "scan.to": "to {0}", "scan.happened": "happened {0}", "scan.anyway": "done anyway",
  "fate.told": "in the story", "fate.lapsed": "the numbers changed since", "fate.question": "does not fit: a question", "fate.dropped": "left out by a supervisor", "fate.undone": "taken back", "fate.corrected": "corrected", "fate.elsewhere": "corrected to another card", "fate.refused": "refused",
  "fate.anyway": "Done anyway.", "fate.question.n.one": "1 question", "fate.question.n.other": "{0} questions", "fate.changed.n.one": "1 corrected or taken back", "fate.changed.n.other": "{0} corrected or taken back",
  "outcome.question": "It was kept, and is a question now. {0}", "outcome.refused": "{0}", "take-back": "Take back", "taken-back": "Taken back. The record keeps both.", "correct": "Correct …", "correct.title": "Correct a scan: {0}",
  "correct.do": "Correct it", "correct.said": "It said:", "correct.at": "When it happened", "correct.reason": "Reason", "corrected.done": "Corrected. The record keeps both.",
  "add.scrap": "Add scrap", "add.rework": "Add rework", "add.review": "Add review",
};

const questions = {
  "questions.title": "Questions", "questions.none": "Nothing waits for an answer.", "questions.open.one": "1 question waits for an answer", "questions.open.other": "{0} questions wait for an answer",
  "questions.what": "What was said and does not fit is kept and shown, but not added up until somebody decides.", "questions.settled.one": "1 settled", "questions.settled.other": "{0} settled",
  "group.scan": "Does not fit", "group.anyway": "Done anyway", "group.numbers": "Numbers disagree", "group.other": "Other questions", "group.loose": "Belongs to no batch",
  "kind.scan": "does not fit", "kind.anyway": "done anyway", "kind.over": "too many pieces", "kind.uncounted": "not all counted", "kind.counter": "counter reset",
  "ask.said": "Said:", "ask.known": "The floor knows:", "ask.settled": "Settled:", "ask.who": "A supervisor settles this.", "settled": "settled", "settled.as": "Settled: {0}.",
  "choice.add": "Add it up", "choice.add.why": "it is right as it was said", "choice.drop": "Leave it out", "choice.drop.why": "the record keeps it", "choice.seen": "Seen", "choice.seen.why": "it stays as it is",
  "choice.lower": "Later count is too high", "choice.lower.why": "the extra pieces come off the later operation", "choice.raise": "Earlier count is too low", "choice.raise.why": "the earlier operation passed them too",
  "choice.missing": "They are missing", "choice.missing.why": "the pieces not counted are gone", "choice.good": "They were good", "choice.good.why": "the pieces not counted go on",
  "loose.one": "belongs to no batch", "loose.correct": "It was for another card …", "loose.correct.why": "say which",
};

const office = {
  "batches.title": "Batches", "batches.find": "Find by card, works order, part or customer", "batches.which": "Show", "batches.open": "on the floor", "batches.all": "all", "batches.none": "No batch is on the floor. Release one above.",
  "batches.more": "Only the newest {0} are shown. Type more to find others.",
  "release.title": "Release a batch", "release.part": "Part", "release.route_rev": "Route revision", "release.rev": "route {0}, drawing {1}, {2} operations", "release.part-first": "choose the part first",
  "release.pieces": "Pieces started", "release.wanted": "Pieces wanted, if fewer", "release.due": "Due", "release.works_order": "Works order", "release.customer": "Customer", "release.order_line": "Order line",
  "release.lots": "Material lots, with commas", "release.priority": "Priority, higher first", "release.do": "Release", "release.done": "{0} is released. Its card is", "release.story": "Its story",
  "release.no-parts": "There are no routes yet. Load them with “tallywalk import routes FILE”.",
  "sign-in.title": "Sign in", "sign-in.do": "Sign in", "sign-in.station": "A tablet at a machine needs no password:", "sign-in.enrol": "enrol it with a code",
  "account.name": "Name", "account.password": "Password", "account.password.hint": "10 characters or more", "account.role": "Role", "account.by": "Made by",
  "first.title": "The first account", "first.what": "It may do everything, and makes the other accounts.", "first.code": "Code that the first start printed", "first.do": "Make the account",
  "enrol.title": "Make this device a station", "enrol.what": "A supervisor gets the code on the page Stations. It works once.", "enrol.code": "Code", "enrol.do": "Make it a station",
  "stations.title": "Stations", "stations.none": "No device is enrolled yet.", "stations.name": "Name", "stations.later": "chosen at the station", "stations.enrol": "Enrol a device", "stations.give": "Give a code",
  "stations.type": "On the device, open {0}/enrol and type", "stations.minutes": "It works once, within {0} minutes.", "stations.remove": "Take it off",
  "screens.title": "Wall screens", "screens.none": "No wall screen has a link yet.", "screens.give": "Hang up a screen", "screens.what": "A screen's link shows the waits and can change nothing.", "screens.do": "Make a link",
  "screens.once": "Open this link on the screen. It is shown only now.",
  "accounts.title": "Accounts", "accounts.none": "There are no accounts.", "accounts.add": "Add an account", "accounts.do": "Add", "accounts.added": "{0} may sign in now.", "accounts.remove": "Take it away",
  "people.title": "Badges", "people.what": "Operators say who they are with a badge, without a password. Load them with “tallywalk import people FILE”.", "people.none": "No badges yet.", "people.number": "Number", "people.code": "Badge code",
};

export const en = {...pages, ...home, ...units, ...waits, ...batch, ...scans, ...questions, ...office};
