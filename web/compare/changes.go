package compare

import (
	"cmp"
	"encoding/json"
	"slices"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
)

// changeView is a figure before and after a route was changed.
type changeView struct {
	What     string        `json:"what"`
	Unit     string        `json:"unit"`
	Less     bool          `json:"less_is_better"`
	Adjusted bool          `json:"adjusted"` // as of batches of one size
	Before   sideView      `json:"before"`
	After    sideView      `json:"after"`
	Ratio    *float64      `json:"ratio"`
	Low      *float64      `json:"low"`
	High     *float64      `json:"high"`
	Smallest float64       `json:"smallest"`
	Verdict  study.Verdict `json:"verdict"`
	More     int           `json:"more"` // batches likely needed for a verdict
	BadRun   bool          `json:"bad_run"`
}

// mixView is the sizes of the batches on both sides.
type mixView struct {
	Size   float64 `json:"size"` // at which times are compared
	Before float64 `json:"before"`
	After  float64 `json:"after"`
	Differ bool    `json:"differ"`
}

// sideView is the batches before, or after.
type sideView struct {
	N        int       `json:"n"`
	Median   *float64  `json:"median"`
	Mean     *float64  `json:"mean"` // as in a comparison: of a ratio, that of all pieces; zeros count
	Values   []float64 `json:"values"`
	Cards    []string  `json:"cards"` // of the batches with these values
	Excluded int       `json:"excluded"`
}

// look is how often a before-and-after was looked at as it grew.
type look struct {
	Looks int `json:"looks"`
	After int `json:"after"` // batches there were at the last one
}

const tableLooks = "looks"

// mostLooked is the most batches of each side that are compared, the newest of
// the old route and the oldest of the new one.
const mostLooked = 400

// changesView is two routes of a part, before and after.
type changesView struct {
	Part    string       `json:"part"`
	Before  string       `json:"before"`
	After   string       `json:"after"`
	Looks   int          `json:"looks"` // how often it was looked at as it grew
	Figures []changeView `json:"figures"`
	Few     int          `json:"few"` // batches below which nothing is said
	Mix     mixView      `json:"mix"`
}

// getChanges compares two routes of a part as before and after a change. Looks
// are counted: each time that there are more batches than at the last look.
func (s *room) getChanges(c *fiber.Ctx) error {
	part, before, after := c.Query("part"), c.Query("before"), c.Query("after")
	smallest := 0.10
	if v := c.Query("smallest"); v != "" {
		x, err := strconv.ParseFloat(v, 64)
		if err != nil || !(x >= 0.01 && x <= 1) {
			return traveler.Invalid("smallest", "form.number")
		}
		smallest = x
	}
	if part == "" || before == "" || after == "" || before == after {
		return traveler.Invalid("after", "compare.two")
	}
	old, fresh, err := s.sides(part, before, after)
	if err != nil {
		return err
	}
	looks, err := s.looked(part+"\n"+before+"\n"+after, len(fresh))
	if err != nil {
		return err
	}
	out := []changeView{}
	changes, mix := study.Changes(old, fresh, smallest, looks)
	for _, x := range changes {
		v := changeView{
			What: x.What, Unit: x.Unit, Less: x.LessIsBetter, Adjusted: x.Adjusted,
			Before: sideOf(&x.Before, old),
			After:  sideOf(&x.After, fresh), Smallest: x.Smallest, Verdict: x.Verdict, More: x.More,
			BadRun: x.BadRun,
		}
		if x.Ratio > 0 {
			v.Ratio = finite(x.Ratio)
		}
		if x.In[1] > 0 {
			v.Low, v.High = &x.In[0], &x.In[1]
		}
		out = append(out, v)
	}
	return c.JSON(changesView{part, before, after, looks, out, study.Few, mixView(mix)})
}

func sideOf(x *study.Side, list []*story.BatchFact) sideView {
	v := sideView{N: x.N, Values: x.Values, Cards: []string{}, Excluded: x.Excluded}
	if v.Values == nil {
		v.Values = []float64{}
	}
	for _, i := range x.Of {
		v.Cards = append(v.Cards, string(list[i].Card))
	}
	if x.N > 0 {
		v.Median, v.Mean = &x.Median, finite(x.Average)
	}
	return v
}

// sides are the batches that are done on either route, by their end.
func (s *room) sides(part, before, after string) (old, fresh []*story.BatchFact, err error) {
	err = s.Desk.Facts(story.FactQuery{Part: part}, func(b *story.BatchFact) bool {
		if !b.Finished() {
			return true
		}
		x := *b
		switch b.Rev {
		case before:
			old = append(old, &x)
		case after:
			fresh = append(fresh, &x)
		}
		return true
	})
	byEnd := func(a, b *story.BatchFact) int {
		return cmp.Or(a.Ended.Compare(b.Ended), cmp.Compare(a.Card, b.Card))
	}
	slices.SortFunc(old, byEnd)
	slices.SortFunc(fresh, byEnd)
	return old[max(0, len(old)-mostLooked):], fresh[:min(mostLooked, len(fresh))], err
}

// looked counts a look, when there is more to see than at the last one.
func (s *room) looked(key string, after int) (int, error) {
	s.looks.Lock()
	defer s.looks.Unlock()
	var l look
	b, err := s.Tables.Get(tableLooks, key)
	if err != nil {
		return 0, err
	}
	if b != nil && json.Unmarshal(b, &l) != nil {
		l = look{}
	}
	if l.Looks > 0 && l.After == after {
		return l.Looks, nil
	}
	l = look{Looks: l.Looks + 1, After: after}
	if b, err = json.Marshal(l); err != nil {
		return 0, err
	}
	return l.Looks, s.Tables.Put(tableLooks, key, b)
}
