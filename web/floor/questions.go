package floor

import (
	"sort"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/door"
)

// questionView is a question with what was said and what can be answered.
type questionView struct {
	ID        string             `json:"question"`
	Kind      story.QuestionKind `json:"kind"`
	Card      traveler.Code      `json:"card"`
	Part      string             `json:"part"`
	Order     string             `json:"works_order,omitempty"`
	Operation traveler.Op        `json:"operation,omitempty"`
	At        time.Time          `json:"at"`
	Known     string             `json:"known"` // what the floor knows, with numbers
	Cause     string             `json:"cause"` // names what does not fit: the key of Known
	// What it keeps from being added up.
	Blocks  string         `json:"blocks" api:"enum=pieces|times|"`
	Pieces  int            `json:"pieces,omitempty"`
	Machine string         `json:"machine,omitempty"`
	Said    *traveler.Scan `json:"said,omitempty"`
	Who     string         `json:"who,omitempty"`
	Choices []string       `json:"choices"`
	Settled *settledView   `json:"settled,omitempty"`
}

// settledView is how a question was settled.
type settledView struct {
	Choice string    `json:"choice"`
	By     string    `json:"by"`
	At     time.Time `json:"at"`
}

func questionViewOf(faces *door.Faces, f *story.Family, q *story.Question) questionView {
	v := questionView{
		ID: q.ID, Kind: q.Kind, Card: q.Card, Operation: q.Operation, At: q.At,
		Known: faces.Say(q.Known), Pieces: q.Pieces, Choices: q.Choices, Cause: q.Known.Key,
		Blocks: blocks(q),
	}
	if i := f.Index(q.Card); i >= 0 {
		v.Part, v.Order = f.Batches[i].Part, f.Batches[i].Order
	}
	if q.Scan != "" {
		for _, e := range f.Record() {
			if e.Scan != nil && e.Scan.ID == q.Scan {
				v.Said, v.Machine, v.Who = faces.Scan(e.Scan), string(e.Machine), faces.Name(e.Scan.Operator)
			}
		}
	}
	if q.Scan == "" {
		v.lastAt(faces, f, q)
	}
	if q.Settled != nil {
		v.Settled = &settledView{q.Settled.Choice, q.Settled.Name, q.Settled.At}
	}
	return v
}

// lastAt says where, and by whom, the operation was last worked on whose numbers
// disagree.
func (v *questionView) lastAt(faces *door.Faces, f *story.Family, q *story.Question) {
	for j := range f.Visits {
		x := &f.Visits[j]
		if x.Operation != q.Operation || f.Batches[x.Batch].Card != q.Card {
			continue
		}
		v.Machine, v.Who = string(x.Machine), ""
		if n := len(x.People); n > 0 {
			v.Who = faces.Name(x.People[n-1])
		}
	}
}

// blocks says what an open question keeps from being added up: pieces that are not
// counted until it is answered, or times that are left out of figures.
func blocks(q *story.Question) string {
	switch q.Kind {
	case story.QuestionScan, story.QuestionOver, story.QuestionUncounted, story.QuestionCounter:
		return "pieces"
	case story.QuestionClosed:
		return "times"
	}
	return ""
}

// questionsView is what waits for a supervisor, what was settled on the floor, and
// scans that belong to no batch.
type questionsView struct {
	Open    []questionView `json:"open"`
	Settled []questionView `json:"settled"`
	Loose   []lineView     `json:"loose"`
}

// getQuestions lists what waits for a supervisor, newest first, and what could
// not be brought to any batch.
func (s *room) getQuestions(c *fiber.Ctx) error {
	open, settled, faces := []questionView{}, []questionView{}, s.Faces(c)
	s.Desk.Open(func(f *story.Family) bool {
		for _, q := range f.Questions() {
			if q.Settled == nil {
				open = append(open, questionViewOf(faces, f, &q))
			}
		}
		for i := range f.Settled {
			q := f.Settled[i].Question
			q.Settled = &f.Settled[i]
			settled = append(settled, questionViewOf(faces, f, &q))
		}
		return true
	})
	newest := func(l []questionView) {
		sort.SliceStable(l, func(i, j int) bool { return l[i].At.After(l[j].At) })
	}
	newest(open)
	newest(settled)
	loose := []lineView{}
	for _, e := range s.Desk.Loose() {
		if e.Scan != nil && e.Outcome == traveler.Questioned {
			v := lineViewOf(c, faces, e)
			v.At = saidAt(e.Scan)
			loose = append(loose, v)
		}
	}
	return c.JSON(questionsView{open, settled, loose})
}
