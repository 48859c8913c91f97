package door

import (
	"errors"
	"slices"
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

// screenBody is a screen to hang up. What is left out has its default.
type screenBody struct {
	Name     string  `json:"name"`
	Board    string  `json:"board,omitempty" api:"enum=waits|ground|pace"`
	Distance float64 `json:"m,omitempty" api:"min=1,max=30"`   // viewing distance, metres
	Diagonal float64 `json:"in,omitempty" api:"min=7,max=120"` // diagonal, inches
	Theme    string  `json:"theme,omitempty" api:"enum=auto|light|dark|clock"`
	Dark     string  `json:"dark,omitempty"`  // by the clock: dark from this time of day
	Light    string  `json:"light,omitempty"` // and light from this
	Language string  `json:"language,omitempty" api:"enum=en|de|es|pl|tr"`
}

// check finds the first setting that makes no sense.
func (s *Door) check(w *wall) error {
	if !slices.Contains(s.Boards, w.Board) {
		return traveler.Invalid("board", "screen.board", w.Board)
	}
	if !(w.Distance >= nearest && w.Distance <= farthest) {
		return traveler.Invalid("m", "screen.range", strconv.Itoa(nearest), strconv.Itoa(farthest))
	}
	if !(w.Diagonal >= smallest && w.Diagonal <= largest) {
		return traveler.Invalid("in", "screen.range", strconv.Itoa(smallest), strconv.Itoa(largest))
	}
	switch w.Theme {
	case "auto", "light", "dark", "clock":
	default:
		return traveler.Invalid("theme", "screen.theme")
	}
	for _, x := range []struct{ field, value string }{{"dark", w.Dark}, {"light", w.Light}} {
		if _, err := time.Parse("15:04", x.value); w.Theme == "clock" &&
			(err != nil || len(x.value) != len("15:04")) {
			return traveler.Invalid(x.field, "screen.clock", x.value)
		}
	}
	return nil
}

// screenLink opens the boards, and what they are drawn with, to whoever has it.
type screenLink struct {
	Link string `json:"link"`
}

// postScreen gives the read-only link of a wall screen.
func (s *Door) postScreen(c *fiber.Ctx) error {
	var in screenBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if in.Name == "" || !traveler.CleanText(in.Name, 60) {
		return traveler.Invalid("name", "web.name")
	}
	w := wall{in.Board, in.Distance, in.Diagonal, in.Theme, in.Dark, in.Light, in.Language}
	w.fill(s.Boards[0])
	if err := errors.Join(s.check(&w), checkLanguage(w.Language)); err != nil {
		return err
	}
	secret, err := s.secret()
	if err != nil {
		return err
	}
	row := pass{Name: in.Name, Role: traveler.RoleWatcher, Made: s.Time(), By: Who(c).Name, Wall: &w}
	if err := s.putRow(tableScreens, sumOf(secret), row); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(screenLink{s.EntryURL + "/wall/" + secret})
}

// OpenScreen turns a wall screen's link into a cookie and shows its board. It fails
// with KindUnknown where the link is none, with KindInvalid where its board is
// none, and as the tables do.
func (s *Door) OpenScreen(c *fiber.Ctx) error {
	secret := ask.PathParam(c, "secret")
	var row pass
	ok, err := s.row(tableScreens, sumOf(secret), &row)
	if err != nil {
		return err
	}
	if !ok {
		return traveler.Fail(traveler.KindUnknown, "web.screen")
	}
	w := wall{}
	if row.Wall != nil {
		w = *row.Wall
	}
	w.Board = c.Query("board", w.Board)
	w.fill(s.Boards[0])
	if err := s.check(&w); err != nil {
		return err
	}
	s.cookie(c, cookieScreen, secret, stationTime)
	return c.Redirect(w.address())
}

// hungScreen is a wall screen in the list.
type hungScreen struct {
	ID   string    `json:"id"`
	Name string    `json:"name"`
	Made time.Time `json:"made"`
	By   string    `json:"by"`
	wall
}

// screens lists the wall screens, the oldest first.
func (s *Door) screens() ([]hungScreen, error) {
	return rows.List(s.Tables, tableScreens, s.hungScreenOf,
		func(a, b hungScreen) int { return a.Made.Compare(b.Made) })
}

func (s *Door) hungScreenOf(key string, p *pass) hungScreen {
	v := hungScreen{ID: key[:passID], Name: p.Name, Made: p.Made, By: p.By}
	if p.Wall != nil {
		v.wall = *p.Wall
	}
	v.fill(s.Boards[0])
	return v
}
