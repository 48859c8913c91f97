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
	Pieces    int                `json:"pieces,omitempty"`
	Machine   string             `json:"machine,omitempty"`
	Said      *traveler.Scan     `json:"said,omitempty"`
	Who       string             `json:"who,omitempty"`
	Choices   []string           `json:"choices"`
	Settled   *settledView       `json:"settled,omitempty"`
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
		Known: faces.Say(q.Known), Pieces: q.Pieces, Choices: q.Choices,
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
	if q.Settled != nil {
		v.Settled = &settledView{q.Settled.Choice, q.Settled.Name, q.Settled.At}
	}
	return v
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
