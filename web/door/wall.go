package door

import (
	"cmp"
	"net/url"
	"strconv"
)

// wall is what a wall screen shows and how: it is kept with the screen's link,
// so that the link alone brings the board back as it was.
type wall struct {
	Board    string  `json:"board" api:"enum=waits|ground|pace"`
	Distance float64 `json:"m" api:"min=1,max=30"`   // viewing distance, metres
	Diagonal float64 `json:"in" api:"min=7,max=120"` // diagonal, inches
	Theme    string  `json:"theme" api:"enum=auto|light|dark|clock"`
	Dark     string  `json:"dark,omitempty"`  // by the clock: dark from this time of day
	Light    string  `json:"light,omitempty"` // and light from this
	Language string  `json:"language,omitempty" api:"enum=en|de|es|pl|tr"`
}

// Limits of a screen's settings, the same on the page.
const (
	nearest, farthest = 1, 30  // metres
	smallest, largest = 7, 120 // inches
)

// fill puts the defaults in where nothing was said: a screen of 43 inches, read
// from five metres, dark from seven in the evening until six.
func (w *wall) fill(board string) {
	w.Board, w.Theme = cmp.Or(w.Board, board), cmp.Or(w.Theme, "auto")
	w.Distance, w.Diagonal = cmp.Or(w.Distance, 5), cmp.Or(w.Diagonal, 43)
	if w.Theme == "clock" {
		w.Dark, w.Light = cmp.Or(w.Dark, "19:00"), cmp.Or(w.Light, "06:00")
	} else {
		w.Dark, w.Light = "", ""
	}
}

// address is the page of the board with these settings.
func (w *wall) address() string {
	q := url.Values{"wall": {"1"}, "theme": {w.Theme}}
	q.Set("m", strconv.FormatFloat(w.Distance, 'f', -1, 64))
	q.Set("in", strconv.FormatFloat(w.Diagonal, 'f', -1, 64))
	if w.Theme == "clock" {
		q.Set("dark", w.Dark)
		q.Set("light", w.Light)
	}
	if w.Language != "" {
		q.Set("language", w.Language)
	}
	return "/" + w.Board + "?" + q.Encode()
}
