package intake

import (
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"tallywalk/traveler"
)

// bookSheet writes a workbook. Its dates are numbers of days that show as dates;
// the format of a time's cell shows how far its clock was from UTC, so that an
// hour that comes twice is known apart.
type bookSheet struct {
	w     io.Writer
	f     *excelize.File
	to    *excelize.StreamWriter
	in    *time.Location
	row   int
	cells []any
	days  int         // style of a date
	times map[int]int // style of a time by the offset of its clock, seconds
	err   error
}

func newBookSheet(w io.Writer, name string, zone *time.Location, names []string) (*bookSheet, error) {
	s := &bookSheet{w: w, f: excelize.NewFile(), in: zone, times: map[int]int{}}
	if err := s.begin(name, names); err != nil {
		_ = s.f.Close()
		return nil, err
	}
	return s, nil
}

func (s *bookSheet) begin(name string, names []string) error {
	if err := s.f.SetSheetName("Sheet1", name); err != nil {
		return err
	}
	if err := s.about(name); err != nil {
		return err
	}
	var err error
	if s.to, err = s.f.NewStreamWriter(name); err != nil {
		return err
	}
	if err := s.to.SetColWidth(1, len(names), 16); err != nil {
		return err
	}
	if err := s.to.SetPanes(
		&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if s.days, err = s.style("yyyy-mm-dd"); err != nil {
		return err
	}
	for _, n := range names {
		s.text(n)
	}
	return s.end()
}

// about is a second sheet that says what the first one means.
func (s *bookSheet) about(name string) error {
	if _, err := s.f.NewSheet("about"); err != nil {
		return err
	}
	zone := s.in.String()
	if s.in == time.Local {
		zone = "this computer's own"
	}
	for i, text := range []string{
		"The " + name + " of a shop, from tallywalk",
		"Times are by the clock of the time zone " + zone + "; after each stands how far that was from UTC.",
		"Columns that end in _s are seconds, in _m metres. Of an apostrophe before = + - @ ' take no notice: it keeps a text from being taken for a formula.",
	} {
		if err := s.f.SetCellStr("about", "A"+strconv.Itoa(i+1), text); err != nil {
			return err
		}
	}
	return nil
}

func (s *bookSheet) style(format string) (int, error) {
	return s.f.NewStyle(&excelize.Style{CustomNumFmt: &format})
}

func (s *bookSheet) none() { s.cells = append(s.cells, nil) }

func (s *bookSheet) text(v string) {
	if v == "" {
		s.none()
		return
	}
	s.cells = append(s.cells, Harmless(v))
}

func (s *bookSheet) whole(n int64) { s.cells = append(s.cells, n) }
func (s *bookSheet) seconds(d time.Duration) {
	s.cells = append(s.cells, float64(d.Milliseconds())/1000)
}
func (s *bookSheet) metres(m float64) { s.cells = append(s.cells, m) }
func (s *bookSheet) yes(b bool)       { s.cells = append(s.cells, yesNo(b)) }

func (s *bookSheet) date(t time.Time) {
	if t.IsZero() {
		s.none()
		return
	}
	s.cells = append(s.cells, excelize.Cell{StyleID: s.days, Value: daysOf(t)})
}

func (s *bookSheet) moment(t time.Time) {
	if t.IsZero() {
		s.none()
		return
	}
	t = t.In(s.in)
	_, offset := t.Zone()
	style, ok := s.times[offset]
	if !ok {
		var err error
		if style, err = s.style(`yyyy-mm-dd hh:mm:ss.000 "` + t.Format("-07:00") + `"`); err != nil {
			s.err = err
		}
		s.times[offset] = style
	}
	s.cells = append(s.cells, excelize.Cell{StyleID: style, Value: daysOf(t)})
}

// daysTo1970 is what a spreadsheet counts to the beginning of 1970.
const daysTo1970 = 25_569

// daysOf is the number of days that a spreadsheet counts to the time on a clock.
func daysOf(t time.Time) float64 {
	_, offset := t.Zone()
	return float64(t.UnixMilli()+int64(offset)*1000)/86_400_000 + daysTo1970
}

func (s *bookSheet) end() error {
	s.row++
	if s.row > excelize.TotalRows {
		return traveler.Fail(traveler.KindTooLarge, "export.rows", strconv.Itoa(excelize.TotalRows-1))
	}
	if s.err != nil {
		return s.err
	}
	err := s.to.SetRow(fmt.Sprintf("A%d", s.row), s.cells)
	s.cells = s.cells[:0]
	return err
}

func (s *bookSheet) close() error {
	defer func() { _ = s.f.Close() }()
	if err := s.to.Flush(); err != nil {
		return err
	}
	_, err := s.f.WriteTo(s.w)
	return err
}

func (s *bookSheet) drop() { _ = s.f.Close() }

func (s *bookSheet) zone(t time.Time) { s.text(zoneText(t.In(s.in))) }
