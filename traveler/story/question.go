package story

import (
	"slices"
	"strings"
	"tallywalk/traveler"
	"time"
)

// QuestionKind says what a question is about.
type QuestionKind string

// The kinds of question.
const (
	QuestionScan      QuestionKind = "scan"      // a scan does not fit; it is not added up
	QuestionAnyway    QuestionKind = "anyway"    // it was done anyway; someone should know
	QuestionOver      QuestionKind = "over"      // more pieces than the operation before let go
	QuestionUncounted QuestionKind = "uncounted" // an operation ended with pieces uncounted
	QuestionCounter   QuestionKind = "counter"   // a machine's counter was reset
	QuestionClosed    QuestionKind = "closed"    // left running, or setting, when the machine closed
)

// The choices that settle a question.
const (
	ChoiceAdd     = "add"     // add the scan up as it was said
	ChoiceDrop    = "drop"    // leave it out
	ChoiceSeen    = "seen"    // it stays as it is
	ChoiceLower   = "lower"   // the later operation counted too many
	ChoiceRaise   = "raise"   // the earlier operation passed more than it counted
	ChoiceMissing = "missing" // the uncounted pieces are missing
	ChoiceGood    = "good"    // the uncounted pieces were good
	ChoiceStood   = "stood"   // it stood still while the machine was closed
	ChoiceWorked  = "worked"  // it went on
	// Of a run, or of pieces, without a first-off that had passed.
	ChoicePassed     = "passed"     // it has passed since
	ChoiceHold       = "hold"       // the batch is held
	ChoiceQuarantine = "quarantine" // what was made since is set aside
)

// Settlement is the answer someone gave to a question.
type Settlement struct {
	Question Question
	Choice   string
	By       traveler.PersonID
	Name     string // account that answered
	At       time.Time
	Scan     traveler.ScanID
}

// Question is something that was said and does not fit, or numbers that
// disagree. Its ID names what it is about, numbers included, so that an answer
// holds only while they stand.
type Question struct {
	ID        string
	Kind      QuestionKind
	Card      traveler.Code
	Operation traveler.Op
	Before    traveler.Op // the operation before, for QuestionOver
	Pieces    int
	Scan      traveler.ScanID
	At        time.Time
	Known     traveler.Msg // what the floor knows, with numbers
	Choices   []string
	Settled   *Settlement

	ask  bool
	keep bool
}

// withoutPass are the sentences after which someone ran, or counted good pieces, without
// a first-off that had passed.
var withoutPass = []string{"firstoff.open", "firstoff.overrule", "firstoff.counted"}

// offers reports whether a choice answers the question. Records of before a run without
// a pass had answers of its own may say of one that it was seen.
func (q *Question) offers(choice string) bool {
	return slices.Contains(q.Choices, choice) ||
		q.Kind == QuestionAnyway && (choice == ChoiceSeen || choice == ChoiceDrop)
}

func scanQuestionOf(ev *event, m *misfit) Question {
	return Question{
		ID: scanQuestion + string(ev.e.Scan.ID), Kind: QuestionScan, Card: ev.card, Operation: ev.s.Operation,
		Scan: ev.e.Scan.ID, At: ev.at, Known: m.msg, Choices: []string{ChoiceAdd, ChoiceDrop}, ask: m.ask,
		keep: m.keep,
	}
}

func anywayQuestion(ev *event, m *misfit) Question {
	choices := []string{ChoiceSeen, ChoiceDrop}
	if slices.Contains(withoutPass, m.msg.Key) {
		choices = []string{ChoicePassed, ChoiceHold, ChoiceQuarantine}
	}
	return Question{
		ID: anywayQuestionOf + string(ev.e.Scan.ID), Kind: QuestionAnyway, Card: ev.card,
		Operation: ev.s.Operation,
		Scan:      ev.e.Scan.ID, At: ev.at, Known: m.msg, Choices: choices,
	}
}

// Questions lists what the family asks, oldest first; settled ones too, as far
// as they still stand.
func (f *Family) Questions() []Question {
	out := slices.Clone(f.misfits)
	for i := range f.Batches {
		out = append(out, f.numberQuestions(i)...)
	}
	out = append(out, f.closedQuestions()...)
	for i := range out {
		for j := range f.Settled {
			if f.Settled[j].Question.ID == out[i].ID {
				out[i].Settled = &f.Settled[j]
			}
		}
	}
	return out
}

// numberQuestions asks where the numbers of a batch disagree.
func (f *Family) numberQuestions(batch int) []Question {
	b := &f.Batches[batch]
	ts := f.Tallies(batch)
	var out []Question
	for k := range ts {
		t := &ts[k]
		if t.Over > 0 && k > 0 {
			out = append(out, overQuestion(b, t, &ts[k-1], f.lastCount(batch, t.Operation)))
		}
		if n := t.Could - t.Counted - t.Assumed; n > 0 && t.Closed && !t.Busy && b.Cancelled.IsZero() {
			out = append(out, uncountedQuestion(b, t, n, f.lastCount(batch, t.Operation)))
		}
	}
	return out
}

func overQuestion(b *Batch, t, prev *Tally, at time.Time) Question {
	choices := []string{ChoiceLower, ChoiceRaise, ChoiceSeen}
	if t.Good < t.Over {
		choices = choices[1:] // there are not so many good ones to take off
	}
	return Question{
		ID: strings.Join([]string{"over", string(b.Card), t.Operation.String(), num(t.In), num(t.Over)},
			":"),
		Kind: QuestionOver, Card: b.Card, Operation: t.Operation, Before: prev.Operation, Pieces: t.Over,
		At: at,
		Known: traveler.Msg{Key: "over",
			Args: []string{t.Operation.String(), num(t.In), prev.Operation.String(), num(t.In - t.Over)}},
		Choices: choices,
	}
}

func uncountedQuestion(b *Batch, t *Tally, n int, at time.Time) Question {
	return Question{
		ID: strings.Join([]string{"uncounted", string(b.Card), t.Operation.String(), num(t.In), num(n)},
			":"),
		Kind: QuestionUncounted, Card: b.Card, Operation: t.Operation, Pieces: n, At: at,
		Known:   traveler.Msg{Key: "uncounted", Args: []string{t.Operation.String(), num(n), num(t.Could)}},
		Choices: []string{ChoiceGood, ChoiceMissing, ChoiceSeen},
	}
}

// lastCount is when the last visit of an operation last changed.
func (f *Family) lastCount(batch int, op traveler.Op) time.Time {
	var t time.Time
	for i := range f.Visits {
		if v := &f.Visits[i]; v.Batch == batch && v.Operation == op {
			t = v.Arrived
			if e := v.Ended(); e.After(t) {
				t = e
			}
		}
	}
	return t
}

// question finds a question by its name.
func (f *Family) question(id string) (Question, bool) {
	for _, q := range f.Questions() {
		if q.ID == id {
			return q, true
		}
	}
	return Question{}, false
}
