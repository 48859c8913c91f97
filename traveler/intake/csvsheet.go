package intake

import (
	"io"
	"strconv"
	"strings"
	"time"
)

// flushAt is how many bytes of a list are held before they are written.
const flushAt = 32 << 10

const momentLayout = "2006-01-02T15:04:05.999Z07:00" // RFC 3339

// pending is what of a list is not written yet.
type pending struct {
	w io.Writer
	b []byte
}

// row ends a row; now and then what there is of the list is written.
func (p *pending) row(end ...byte) error {
	p.b = append(p.b, end...)
	if len(p.b) < flushAt {
		return nil
	}
	return p.close()
}

func (p *pending) close() error {
	_, err := p.w.Write(p.b)
	p.b = p.b[:0]
	return err
}

// csvSheet writes CSV as RFC 4180 has it, with LF.
type csvSheet struct {
	pending
	in  *time.Location
	any bool // the row has a cell already
}

func newCSVSheet(w io.Writer, zone *time.Location, names []string) *csvSheet {
	s := &csvSheet{pending: pending{w: w}, in: zone}
	for _, n := range names {
		s.text(n)
	}
	s.b, s.any = append(s.b, '\n'), false
	return s
}

func (s *csvSheet) cell() {
	if s.any {
		s.b = append(s.b, ',')
	}
	s.any = true
}

func (s *csvSheet) none() { s.cell() }

func (s *csvSheet) text(v string) {
	s.cell()
	v = Harmless(v)
	if v != "" && !strings.ContainsAny(v, "\",\r\n") && v[0] != ' ' && v[len(v)-1] != ' ' {
		s.b = append(s.b, v...)
		return
	}
	if v == "" {
		return
	}
	s.b = append(s.b, '"')
	s.b = append(s.b, strings.ReplaceAll(v, `"`, `""`)...)
	s.b = append(s.b, '"')
}

func (s *csvSheet) whole(n int64) {
	s.cell()
	s.b = strconv.AppendInt(s.b, n, 10)
}

func (s *csvSheet) seconds(d time.Duration) {
	s.cell()
	s.b = appendSeconds(s.b, d)
}

func (s *csvSheet) metres(m float64) {
	s.cell()
	s.b = strconv.AppendFloat(s.b, m, 'f', -1, 64)
}

func (s *csvSheet) moment(t time.Time) {
	s.cell()
	if !t.IsZero() {
		s.b = t.In(s.in).AppendFormat(s.b, momentLayout)
	}
}

func (s *csvSheet) date(t time.Time) {
	s.cell()
	if !t.IsZero() {
		s.b = t.AppendFormat(s.b, time.DateOnly)
	}
}

func (s *csvSheet) yes(b bool) {
	s.cell()
	s.b = append(s.b, yesNo(b)...)
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func (s *csvSheet) end() error {
	s.any = false
	return s.row('\n')
}

func (s *csvSheet) drop() {}

const zoneLayout = "UTC-07:00"

func zoneText(t time.Time) string { return t.Format(zoneLayout) }

// appendSeconds writes whole milliseconds as seconds, without trailing noughts.
func appendSeconds(b []byte, d time.Duration) []byte {
	ms := d.Milliseconds()
	if ms%1000 == 0 {
		return strconv.AppendInt(b, ms/1000, 10)
	}
	return strconv.AppendFloat(b, float64(ms)/1000, 'f', -1, 64)
}

func (s *csvSheet) zone(t time.Time) { s.text(zoneText(t.In(s.in))) }
