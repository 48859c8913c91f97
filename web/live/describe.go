package live

import (
	"time"

	"tallywalk/traveler/board"
	"tallywalk/web/ask"
)

// What boards are described as; they are made of rows and heads as these come,
// see feed. Tests hold the boards against this.

// wholeBoard is what each board has when it is whole.
type wholeBoard struct {
	Board   string               `json:"board" api:"enum=waits|ground|pace"`
	Seq     uint64               `json:"seq"` // of the board: each change gives the next
	At      time.Time            `json:"at"`
	Today   string               `json:"today"`
	Whole   bool                 `json:"whole"`
	Zone    string               `json:"zone"` // the shop's; empty = this computer's own
	Pace    float64              `json:"pace"` // how fast the shop's clock runs
	Centres []centre             `json:"centres"`
	Hours   map[string]openHours `json:"hours"` // by their key
}

// waitsBoard is what waits, and what is at work.
type waitsBoard struct {
	wholeBoard
	Rule     string                    `json:"rule"` // which of two that wait comes first
	Calendar bool                      `json:"calendar"`
	Lines    map[string]board.WaitLine `json:"lines"` // by their work centre
	Rows     map[string]waitsRow       `json:"rows"`
}

// waitsRow is a row with why it waits, as that was when it was asked for. Over the
// websocket rows come without: a page that stays open works it out of the lines, by its
// clock.
type waitsRow struct {
	board.Row
	Why []board.WaitReason `json:"why,omitempty"`
}

// withWhy says of each row of a whole waits board why it waits.
func withWhy(m map[string]any, now time.Time) {
	lines, _ := m["lines"].(map[string]any)
	rows, _ := m["rows"].(map[string]any)
	for key, v := range rows {
		if r, ok := v.(board.Row); ok {
			line, _ := lines[string(r.WorkCentre)].(*board.WaitLine)
			rows[key] = waitsRow{r, board.Why(&r, line, now)}
		}
	}
}

// groundBoard is what is where, and the walks of the week.
type groundBoard struct {
	wholeBoard
	Week     time.Time            `json:"week"` // when it began
	Unplaced int                  `json:"unplaced"`
	Totals   board.Totals         `json:"totals"` // batches; one that waits in two places counts once
	Plan     board.Plan           `json:"plan"`
	Rows     map[string]groundRow `json:"rows"` // places by the key place/ID, legs by leg/A>B
}

// groundRow is a place, or a leg between two.
type groundRow struct{}

// OneOf lists both.
func (groundRow) OneOf() ask.OneOf { return ask.OneOf{board.Place{}, board.Leg{}} }

// paceBoard is planned against actual, and what goes on now.
type paceBoard struct {
	wholeBoard
	Days int                `json:"days"` // of history
	Rows map[string]paceRow `json:"rows"`
}

// paceRow is an operation of a route, or a visit that goes on.
type paceRow struct{}

// OneOf lists both.
func (paceRow) OneOf() ask.OneOf { return ask.OneOf{board.OpPace{}, board.Now{}} }
