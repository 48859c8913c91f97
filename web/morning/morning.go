package morning

import (
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// morningLine is one thing that happened or stands: each belongs to a batch, whose page it
// leads to.
type morningLine struct {
	Card      traveler.Code      `json:"card"`
	Order     string             `json:"works_order,omitempty"`
	Part      string             `json:"part"`
	Customer  string             `json:"customer,omitempty"`
	Operation traveler.Op        `json:"operation,omitempty"`
	Machine   traveler.MachineID `json:"machine,omitempty"`
	At        *time.Time         `json:"at"`    // when it happened, or since when it is so
	Until     *time.Time         `json:"until"` // of a run: when it ended; null while it goes on
	Pieces    int                `json:"pieces"`
	Reason    string             `json:"reason,omitempty"` // one of the shop's
	Due       string             `json:"due,omitempty"`
	Expected  *time.Time         `json:"expected"` // of what is at risk: delivery, in half of all cases by then
	Slack     float64            `json:"slack_s,omitempty"`
	Hot       bool               `json:"hot,omitempty"`
	New       bool               `json:"new,omitempty"` // it is so only since then
}

// morningSection is all lines of a kind.
type morningSection struct {
	Count  int           `json:"count"`
	Pieces int           `json:"pieces"`
	Lines  []morningLine `json:"lines"`
}

// mostLines is how many lines of a kind are named.
const mostLines = 100

// morningView is what happened since a moment, and what needs someone now.
type morningView struct {
	Since   time.Time `json:"since"`
	SinceIs string    `json:"since_is" api:"enum=shift|chosen|yesterday"`
	Now     time.Time `json:"now"`

	Unattended morningSection `json:"unattended"` // runs while the shop was closed, the longest first
	Finished   morningSection `json:"finished"`   // batches; pieces are the good ones
	Operations int            `json:"operations"` // visits that ended
	Shipped    morningSection `json:"shipped"`
	Scrapped   morningSection `json:"scrapped"` // the most pieces first
	Refused    morningSection `json:"refused"`  // first-offs
	Held       morningSection `json:"held"`     // held now
	Late       morningSection `json:"late"`     // not done, and the due date has passed
	AtRisk     morningSection `json:"at_risk"`  // the forecast expects them after their due date
	Foreseen   bool           `json:"foreseen"` // there is a forecast
	Short      morningSection `json:"short"`    // pieces that are wanted and can't come any more
	Stopped    morningSection `json:"stopped"`  // stand still at a machine now

	Questions openView `json:"questions"`
}

// getMorning answers what happened since the reader's last shift.
func (s *room) getMorning(c *fiber.Ctx) error {
	now := s.Time()
	from, is, err := s.since(c.Query("since"), now)
	if err != nil {
		return err
	}
	m := &gatherer{
		shop: s.Desk.Shop(), from: from, now: now, today: now.In(s.Zone).Format(time.DateOnly),
		v: morningView{Since: from, SinceIs: is, Now: now},
	}
	if err := s.each(from, m); err != nil {
		return err
	}
	s.foresee(m)
	m.v.Questions = s.asked.open(s.Desk)
	m.sort()
	m.reword(s.Faces(c).Text)
	return c.JSON(&m.v)
}

// reword puts what people wrote through a function: no badge is answered.
func (m *gatherer) reword(text func(string) string) {
	v := &m.v
	for _, s := range []*morningSection{
		&v.Unattended, &v.Finished, &v.Shipped, &v.Scrapped, &v.Refused, &v.Held, &v.Late, &v.AtRisk,
		&v.Short, &v.Stopped,
	} {
		for i := range s.Lines {
			s.Lines[i].Reason = text(s.Lines[i].Reason)
		}
	}
}

// each hands on the stories of the families on the floor, and of those of which a batch
// ended since and that have left it. It fails as the desk does.
func (s *room) each(from time.Time, m *gatherer) error {
	seen := map[traveler.Code]bool{}
	s.Desk.Open(func(f *story.Family) bool {
		seen[f.Root] = true
		m.add(f)
		return true
	})
	var left []traveler.Code
	q := story.FactQuery{From: from, Without: story.FactTrip | story.FactOps | story.FactVisits, Bare: true}
	err := s.Desk.Facts(q, func(b *story.BatchFact) bool {
		if !seen[b.Root] {
			seen[b.Root] = true
			left = append(left, b.Root)
		}
		return true
	})
	if err != nil {
		return err
	}
	for _, root := range left {
		f, err := s.Desk.Family(root)
		if err != nil {
			return err
		}
		m.add(f)
	}
	return nil
}

// foresee notes which batches the newest forecast expects after their due date, in half of
// all cases or more.
func (s *room) foresee(m *gatherer) {
	if s.Ahead == nil {
		return
	}
	f := s.Ahead.Forecast()
	if f == nil {
		return
	}
	m.v.Foreseen = true
	for i := range f.Batches {
		b := &f.Batches[i]
		l, open := m.open[b.Card]
		if !open || b.Due.IsZero() || b.Delivered.P50.IsZero() || b.Slack >= 0 || l.Due < m.today {
			continue
		}
		l.Expected, l.Slack = ask.Moment(b.Delivered.P50), b.Slack.Seconds()
		m.v.AtRisk.put(l)
	}
}

// put adds a line.
func (s *morningSection) put(l morningLine) {
	s.Count++
	s.Pieces += l.Pieces
	s.Lines = append(s.Lines, l)
}

// sort puts what matters most first in each section, and leaves out what is too much.
func (m *gatherer) sort() {
	v := &m.v
	newest := func(a, b morningLine) int { return moment(b.At).Compare(moment(a.At)) }
	oldest := func(a, b morningLine) int { return moment(a.At).Compare(moment(b.At)) }
	most := func(a, b morningLine) int { return b.Pieces - a.Pieces }
	due := func(a, b morningLine) int {
		if a.Hot != b.Hot {
			return map[bool]int{true: -1, false: 1}[a.Hot]
		}
		return moment(a.At).Compare(moment(b.At))
	}
	longest := func(a, b morningLine) int { return int(m.lasted(&b) - m.lasted(&a)) }
	risk := func(a, b morningLine) int { return int(a.Slack - b.Slack) }
	for _, x := range []struct {
		of *morningSection
		by func(a, b morningLine) int
	}{
		{&v.Unattended, longest}, {&v.Finished, newest}, {&v.Shipped, newest}, {&v.Scrapped, most},
		{&v.Refused, newest},
		{&v.Held, newest}, {&v.Late, due}, {&v.AtRisk, risk}, {&v.Short, most}, {&v.Stopped, oldest},
	} {
		slices.SortStableFunc(x.of.Lines, x.by)
		x.of.Lines = ask.Some(x.of.Lines[:min(mostLines, len(x.of.Lines))])
	}
}

// lasted is how long a run took, in seconds.
func (m *gatherer) lasted(l *morningLine) float64 {
	until := m.now
	if l.Until != nil {
		until = *l.Until
	}
	return until.Sub(moment(l.At)).Seconds()
}

func moment(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return *t
}
