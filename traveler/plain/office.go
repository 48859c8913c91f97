package plain

import (
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// decide notes what was decided at a desk: about pieces set aside, or in answer
// to a question about numbers or about closed time. The question's name says
// what it was about.
func (p *pencil) decide(s *traveler.Scan) {
	q := strings.Split(s.For, ":")
	switch q[0] {
	case "":
		if s.Operation == 0 {
			p.tangle("a decision names no operation")
		}
		p.decided = append(p.decided,
			verdict{s.Operation, number(s.Good), losses(s.Scrap), number(s.Missing),
				s.Reason == "concession"})
	case "closed":
		for _, st := range p.stays {
			st.worked = st.worked || len(q) > 2 && string(st.id) == q[2] && s.Reason == story.ChoiceWorked
		}
	case "anyway":
		if s.Reason == story.ChoiceQuarantine {
			p.tangle("good pieces were set aside afterwards")
		}
	case "over", "uncounted":
		if len(q) < 5 {
			return
		}
		op, err := strconv.Atoi(q[2])
		n, wrong := strconv.Atoi(q[4])
		if err != nil || wrong != nil {
			return
		}
		p.adjust(traveler.Op(op), n, s.Reason)
	}
}

// adjust changes the good pieces at an operation as an answer says.
func (p *pencil) adjust(op traveler.Op, n int, choice string) {
	switch choice {
	case story.ChoiceLower:
		n = -n
	case story.ChoiceGood:
	case story.ChoiceRaise:
		before := traveler.Op(0)
		for _, o := range p.ops {
			if o.Number < op {
				before = max(before, o.Number)
			}
		}
		op = before
	default:
		return
	}
	p.decided = append(p.decided, verdict{op: op, good: n, conceded: true})
}

// override notes a change of the batch's plan.
func (p *pencil) override(s *traveler.Scan) {
	switch s.For {
	case story.OverrideAdd:
		p.ops = append(p.ops, traveler.Operation{Number: s.Operation})
	case story.OverrideWanted:
		p.f.Want = s.Pieces
	case story.OverrideDue:
		if t, err := time.Parse(time.DateOnly, s.To); err == nil {
			p.f.Due = t.Format(time.DateOnly)
		}
	}
}
