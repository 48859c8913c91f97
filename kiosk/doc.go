// Package kiosk says what a scan means to someone who stands at a machine: what
// they see of a batch, which step is likely next and which others there are, and
// what the codes of an action sheet stand for. It also holds the page that an
// operator works with. It tells nothing to the record itself.
//
// # Decisions, with their reasons
//
//   - Keys wait until nothing follows. A scanner may take 150 ms a key and lose one; a
//     person types as fast. So what came is decided after 450 ms of quiet, or at Enter:
//     a code with its check character is one at any speed; a digit presses a button only
//     by itself; several that nobody can tell apart do nothing; and an Enter that
//     follows keys at once presses nothing. Learning a scanner's rhythm only ever widens
//     this, since a second, slower scanner may hang at the same tablet.
//   - What has just changed may not be pressed for 700 ms, whoever changed it: a finger
//     on its way aims at what was there. Keys of a pad say nothing yet; they may be
//     pressed sooner, if the finger went elsewhere for them.
//   - Undo is by the one who is there now, and offers only what that one said. A badge
//     that is read ends what another could take back.
//   - A station offers what the role may do (operator in its questions to the server);
//     what waits for someone else is a sentence, and where the next step is an
//     inspector's there is no big button.
package kiosk
