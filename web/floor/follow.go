package floor

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// maxFollow is of how many questions may be asked at once what follows.
const maxFollow = 50

// followBody is questions of which someone wants to know what follows from each answer.
type followBody struct {
	Questions []askedOf `json:"questions" api:"items=1-50"`
}

// askedOf is a question of a batch.
type askedOf struct {
	Card     traveler.Code `json:"card"`
	Question string        `json:"question"`
}

// followsView is what follows, question by question, in the order asked for.
type followsView struct {
	Questions []askedFollow `json:"questions"`
}

// askedFollow is what follows from each answer to a question; none where the question
// stands no more.
type askedFollow struct {
	Question string         `json:"question"`
	Answers  []answerFollow `json:"answers"`
}

// answerFollow is what an answer changes, as the rules would fold it.
type answerFollow struct {
	Choice  string        `json:"choice"`
	Refused string        `json:"refused,omitempty"` // why the answer would not be taken
	Batches []batchFollow `json:"batches"`           // those of the family where something changes
	Opens   int           `json:"opens"`             // other questions that it opens
}

// batchFollow is by how much an answer changes what is known of a batch: pieces, and
// seconds of work.
type batchFollow struct {
	Card       traveler.Code `json:"card"`
	WorksOrder string        `json:"works_order,omitempty"`
	Wanted     int           `json:"wanted"`
	Finishes   int           `json:"finishes"`     // pieces that can be good in the end then
	Finished   int           `json:"finishes_now"` // and as it stands now
	Good       int           `json:"good"`         // at the last operation
	ToDo       int           `json:"to_do"`
	Scrap      int           `json:"scrap"`
	Rework     int           `json:"rework"`
	Review     int           `json:"review"`
	Missing    int           `json:"missing"`
	Setup      float64       `json:"setup_s"`
	Run        float64       `json:"run_s"`
	Held       bool          `json:"held,omitempty"` // it is held then, and is not now
}

// changes reports whether anything does.
func (b *batchFollow) changes() bool {
	return b.Finishes != b.Finished || b.Held || b.Setup != 0 || b.Run != 0 ||
		b.Good|b.ToDo|b.Scrap|b.Rework|b.Review|b.Missing != 0
}

// postFollow works out what follows from each answer to open questions: each family is
// folded with the answer in its record, and compared with what it is.
func (s *room) postFollow(c *fiber.Ctx) error {
	var in followBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if len(in.Questions) == 0 || len(in.Questions) > maxFollow {
		return traveler.Invalid("questions", "web.questions")
	}
	p, faces := door.Who(c), s.Faces(c)
	by := traveler.Actor{Name: p.Name, Role: p.Role}
	out := followsView{[]askedFollow{}}
	for _, asked := range in.Questions {
		v := askedFollow{asked.Question, []answerFollow{}}
		if f, err := s.Desk.Family(asked.Card); err == nil {
			if q := openQuestion(f, asked.Question); q != nil {
				v.Answers = s.follow(faces, f, q, by)
			}
		} else if traveler.KindOf(err) != traveler.KindNotFound {
			return err
		}
		out.Questions = append(out.Questions, v)
	}
	return c.JSON(out)
}

func openQuestion(f *story.Family, id string) *story.Question {
	for _, q := range f.Questions() {
		if q.ID == id && q.Settled == nil {
			return &q
		}
	}
	return nil
}

func countOpen(f *story.Family) (n int) {
	for _, q := range f.Questions() {
		if q.Settled == nil {
			n++
		}
	}
	return n
}

func (s *room) follow(faces *door.Faces, f *story.Family, q *story.Question,
	by traveler.Actor) []answerFollow {
	out := make([]answerFollow, 0, len(q.Choices))
	now := s.batchesNow(f)
	for _, choice := range q.Choices {
		a := answerFollow{Choice: choice, Batches: []batchFollow{}}
		next, refused := f.Answered(s.Desk.Shop(), q, choice, by, s.Time())
		if next == nil {
			a.Refused = faces.Say(refused)
		} else {
			a.Opens = max(0, countOpen(next)-countOpen(f)+1)
			for i, then := range s.batchesNow(next) {
				if i < len(now) {
					then.less(&now[i])
				}
				if then.changes() {
					a.Batches = append(a.Batches, then)
				}
			}
		}
		out = append(out, a)
	}
	return out
}

// batchesNow are the numbers of each batch of a family, as they stand.
func (s *room) batchesNow(f *story.Family) []batchFollow {
	m := s.Meter()
	out := make([]batchFollow, len(f.Batches))
	for i := range f.Batches {
		b, sum, fact := &f.Batches[i], f.Sum(i), m.Batch(f, i)
		out[i] = batchFollow{
			Card: b.Card, WorksOrder: b.Order, Wanted: b.Wanted,
			Finishes: sum.Good + sum.ToDo + sum.ReworkOpen + sum.ReviewOpen,
			Good:     sum.Good, ToDo: sum.ToDo, Scrap: sum.Scrap, Rework: sum.ReworkOpen,
			Review: sum.ReviewOpen, Missing: sum.Missing,
			Setup: fact.Parts.Setup.Seconds(), Run: fact.Parts.Run.Seconds(), Held: b.Held,
		}
	}
	return out
}

// less leaves of the numbers how they differ from what stands now.
func (b *batchFollow) less(now *batchFollow) {
	b.Finished = now.Finishes
	b.Good, b.ToDo, b.Scrap = b.Good-now.Good, b.ToDo-now.ToDo, b.Scrap-now.Scrap
	b.Rework, b.Review, b.Missing = b.Rework-now.Rework, b.Review-now.Review, b.Missing-now.Missing
	b.Setup, b.Run, b.Held = b.Setup-now.Setup, b.Run-now.Run, b.Held && !now.Held
}
