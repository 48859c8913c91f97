package intake

import (
	"encoding/json"
	"io"
	"strconv"
	"time"
)

// jsonSheet writes a flat object a line; what is empty is left out.
type jsonSheet struct {
	pending
	in   *time.Location
	keys []string // each with its quotes and colon
	i    int
	any  bool
}

func newJSONSheet(w io.Writer, zone *time.Location, names []string) *jsonSheet {
	s := &jsonSheet{pending: pending{w: w}, in: zone}
	for _, n := range names {
		s.keys = append(s.keys, strconv.Quote(n)+":")
	}
	return s
}

func (s *jsonSheet) key() {
	if s.any {
		s.b = append(s.b, ',')
	} else {
		s.b = append(s.b, '{')
	}
	s.any = true
	s.b = append(s.b, s.keys[s.i]...)
	s.i++
}

func (s *jsonSheet) none() { s.i++ }

func (s *jsonSheet) text(v string) {
	if v == "" {
		s.i++
		return
	}
	s.key()
	q, _ := json.Marshal(v) // a string always can
	s.b = append(s.b, q...)
}

func (s *jsonSheet) whole(n int64) {
	s.key()
	s.b = strconv.AppendInt(s.b, n, 10)
}

func (s *jsonSheet) seconds(d time.Duration) {
	s.key()
	s.b = appendSeconds(s.b, d)
}

func (s *jsonSheet) metres(m float64) {
	s.key()
	s.b = strconv.AppendFloat(s.b, m, 'f', -1, 64)
}

func (s *jsonSheet) moment(t time.Time) { s.time(t.In(s.in), t.IsZero(), momentLayout) }
func (s *jsonSheet) date(t time.Time)   { s.time(t, t.IsZero(), time.DateOnly) }

func (s *jsonSheet) time(t time.Time, zero bool, layout string) {
	if zero {
		s.i++
		return
	}
	s.key()
	s.b = append(s.b, '"')
	s.b = t.AppendFormat(s.b, layout)
	s.b = append(s.b, '"')
}

func (s *jsonSheet) yes(b bool) {
	s.key()
	s.b = strconv.AppendBool(s.b, b)
}

func (s *jsonSheet) end() error {
	s.any, s.i = false, 0
	return s.row('}', '\n')
}

func (s *jsonSheet) drop() {}

func (s *jsonSheet) zone(t time.Time) { s.text(zoneText(t.In(s.in))) }
