package health

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// copyView is a copy of the record.
type copyView struct {
	Name    string       `json:"name"` // of its file
	At      time.Time    `json:"at"`
	Entries traveler.Seq `json:"entries"`
	Bytes   int64        `json:"bytes"`
	Ours    bool         `json:"ours"` // of this record; another record's is left as it is
}

// copiesView is what is kept of the record, and how. Times are in seconds.
type copiesView struct {
	Every   float64    `json:"every_s"`   // 0 = copies are made by hand only
	Rule    string     `json:"rule"`      // hours, days, weeks and months of which one is kept: 24h,14d,8w,24m
	Last    *time.Time `json:"last"`      // when all that is recorded was last known to lie in a copy; null = never
	Next    *time.Time `json:"next"`      // when the next one is made
	Late    bool       `json:"late"`      // later than asked for
	Running bool       `json:"running"`   // one is being made
	Failed  string     `json:"failed"`    // how the last try ended; empty = well
	At      *time.Time `json:"failed_at"` // when that was
	Missing int64      `json:"missing"`   // entries that the newest copy of this record lacks
	Restore float64    `json:"restore_s"` // how long putting one back takes, by how long making the last took; 0 = not measured yet
	Copies  []copyView `json:"copies"`    // the newest first
	Demo    bool       `json:"demo"`      // nothing is kept here
}

func (s *room) getCopies(c *fiber.Ctx) error { return c.JSON(s.copies(c)) }

func (s *room) postCopy(c *fiber.Ctx) error {
	if s.Keeper == nil {
		return traveler.Fail(traveler.KindConflict, "health.no-keeper")
	}
	if err := s.Keeper.Copy(); err != nil {
		return err
	}
	return c.JSON(s.copies(c))
}

func (s *room) copies(c *fiber.Ctx) copiesView {
	v := copiesView{Copies: []copyView{}, Demo: s.Keeper == nil}
	if s.Keeper == nil {
		return v
	}
	k := s.Keeper.Copies()
	v.Every, v.Rule, v.Running, v.Restore = k.Every.Seconds(), k.Rule, k.Running, k.Restore.Seconds()
	v.Last, v.Next = moment(k.Last), moment(k.Next)
	if k.Failed != nil {
		v.Failed, v.At = ask.ProblemOf(c, k.Failed).Detail, moment(k.At)
	}
	s.copyFaults(func(name string, _ bool, _ ...string) { v.Late = v.Late || name == "copy-late" })
	end, _ := s.Desk.Head()
	v.Missing = int64(end)
	for _, x := range k.Kept {
		v.Copies = append(v.Copies, copyView(x))
		if x.Ours && v.Missing == int64(end) {
			v.Missing -= int64(x.Entries)
		}
	}
	return v
}

// moment is a time that may be missing.
func moment(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	u := t.UTC()
	return &u
}
