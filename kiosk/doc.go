// Package kiosk says what a scan means to someone who stands at a machine: what
// they see of a batch, which step is likely next and which others there are, and
// what the codes of an action sheet stand for. It also holds the page that an
// operator works with. It writes nothing to the record itself.
//
// # Decisions, with their reasons
//
//   - Keys wait until nothing follows. A scanner may take 150 ms a key and lose one; a
//     person types as fast. So what came is decided after 450 ms of quiet, or at Enter:
//     a code with its check character is one at any speed; a digit presses a button only
//     by itself; several that nobody can distinguish do nothing; and an Enter that
//     follows keys at once presses nothing. Learning a scanner's rhythm only ever widens
//     this, since a second, slower scanner may hang at the same tablet.
//   - What has just changed may not be pressed for 700 ms, whoever changed it: a finger
//     on its way aims at what was there. Keys of a pad say nothing yet; they may be
//     pressed sooner, if the finger went elsewhere for them.
//   - Undo is by the one who is there now, and offers only what that one said. A badge
//     that is read ends what another could take back.
//   - The rules of a station are one table (rules.go, and story.Moves for what a scan
//     makes of a visit). The program interprets it for its answers, the page for itself.
//     Counting and refusing are written twice, once here and in traveler/story, once in
//     the page; hundreds of scans, made by walking a batch through the program's own
//     rules, hold the page to the same answers, words and numbers (testdata/cases.json).
//   - A station goes on at once: it applies what is said to what it knows, and the
//     server's answer corrects it. While the server answers, it is the server that
//     refuses; alone, the station refuses what does not fit what it knows, in the same
//     words, and takes it said anyway. What it can't know (a new card, a split) is kept
//     and asked about later.
//   - What a station knows of a batch carries the last sequence of the batch's family:
//     what was said here and waits, or was recorded after it, is added when someone
//     looks. Nothing is added twice, whenever which answer comes.
//   - A station is given no list of people: the code of a badge lends its role, and a
//     list of codes, even hashed, is tried out in minutes. It remembers those whose
//     badge it has read, as long as acknowledged scans, and takes anybody else as an
//     operator until the server says who it was.
//   - An operator's badge takes over what runs at the machines of the tablet: it says of
//     each run that it goes on (reason handover), and is taken back like any scan. An
//     inspector's or a supervisor's badge takes nothing over.
//   - Who is there is forgotten at the end of the shift, or nine hours after the badge
//     was read; whatever is scanned or tapped in the ten minutes before keeps them for
//     half an hour, or for the shift that has begun since.
//   - A CSS pixel is not a size: a screen that nobody measured is taken for the smallest
//     device that is sold with such a screen (page/glass.js).
//   - A station offers what the role may do (operator in its questions to the server);
//     what waits for someone else is a sentence, and where the next step is an
//     inspector's there is no big button.
//   - The likely step goes by what is known besides the state of the visit: the run's own
//     pace says whether the next thing is a count or the finish, the machine's hours
//     whether people are about to go home, and what is usual at the machine whether a
//     card that comes is said to have arrived or is set up at once. Over a year of the
//     demo's scans, muddles and all, the big button is what was said next in nine of ten
//     (TestLikelyStep prints the rest: most are stops, which nobody foresees).
//   - Where several servers keep the record, a station asks the one that its page came
//     from. While that does not answer, is slow for a second and a half, or takes nothing,
//     all are asked whether they are fit, and the first one that is gets what waits: scans
//     carry their ids, so one that was sent before is answered again. It goes back when its
//     own server has been fit for half a minute, twice as long each time that it was left
//     in the last ten, so that servers that flap are not followed to and fro. The clock of
//     one server is not another's: it is measured when the station changes over. A server
//     that does not know the device is to it as one that does not answer, since only its own
//     can say that it was cut off.
//   - An action sheet is read in any order: a step waits a minute for its card, a reason
//     for its number. Codes of reasons are made of their names, so that a sheet stays
//     good while the shop's lists change.
package kiosk
