package intake

import (
	"encoding/json"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
)

// exported is a scan as a line of JSON has it: what was said, and how it was
// taken.
type exported struct {
	Seq     traveler.Seq       `json:"seq"`
	Arrived time.Time          `json:"arrived"`
	By      string             `json:"by"`
	Role    traveler.Role      `json:"role"`
	Outcome traveler.Outcome   `json:"outcome"`
	Say     *traveler.Msg      `json:"say,omitempty"`
	Batch   traveler.Code      `json:"batch,omitempty"`
	Machine traveler.MachineID `json:"machine,omitempty"`
	Issued  traveler.Code      `json:"other,omitempty"`
	Scan    *traveler.Scan     `json:"scan"`
}

// scanFields are the columns of scans. Entries without a scan are no rows.
var scanFields = []field[traveler.Entry]{
	{"seq", func(s sheet, e *traveler.Entry) { s.whole(int64(e.Seq)) }},
	{"id", func(s sheet, e *traveler.Entry) { s.text(string(e.Scan.ID)) }},
	{"at", func(s sheet, e *traveler.Entry) { s.moment(e.Scan.At) }},
	{"arrived", func(s sheet, e *traveler.Entry) { s.moment(e.Arrived) }},
	{"happened", func(s sheet, e *traveler.Entry) {
		if e.Scan.Happened == nil {
			s.none()
			return
		}
		s.moment(*e.Scan.Happened)
	}},
	{"station", func(s sheet, e *traveler.Entry) { s.text(e.Scan.Station) }},
	{"machine", func(s sheet, e *traveler.Entry) { s.text(string(e.Machine)) }},
	{"card", func(s sheet, e *traveler.Entry) { s.text(e.Scan.Card) }},
	{"batch", func(s sheet, e *traveler.Entry) { s.text(string(e.Card)) }},
	{"other", func(s sheet, e *traveler.Entry) { s.text(string(e.Other)) }},
	{"action", func(s sheet, e *traveler.Entry) { s.text(string(e.Scan.Action)) }},
	{"operator", func(s sheet, e *traveler.Entry) { s.text(string(e.Scan.Operator)) }},
	{"operation", func(s sheet, e *traveler.Entry) { some(s, int64(e.Scan.Operation)) }},
	{"visit", func(s sheet, e *traveler.Entry) { s.text(string(e.Scan.Visit)) }},
	{"phase", func(s sheet, e *traveler.Entry) { s.text(e.Scan.Phase) }},
	{"good", func(s sheet, e *traveler.Entry) { said(s, e.Scan.Good) }},
	{"scrap", func(s sheet, e *traveler.Entry) { s.text(lossText(e.Scan.Scrap)) }},
	{"rework", func(s sheet, e *traveler.Entry) { s.text(lossText(e.Scan.Rework)) }},
	{"review", func(s sheet, e *traveler.Entry) { s.text(lossText(e.Scan.Review)) }},
	{"measured", func(s sheet, e *traveler.Entry) { s.text(measuredText(e.Scan.Measured)) }},
	{"missing", func(s sheet, e *traveler.Entry) { said(s, e.Scan.Missing) }},
	{"reads", func(s sheet, e *traveler.Entry) { said(s, e.Scan.Reads) }},
	{"pieces", func(s sheet, e *traveler.Entry) { some(s, int64(e.Scan.Pieces)) }},
	{"to", func(s sheet, e *traveler.Entry) { s.text(e.Scan.To) }},
	{"for", func(s sheet, e *traveler.Entry) { s.text(e.Scan.For) }},
	{"reason", func(s sheet, e *traveler.Entry) { s.text(e.Scan.Reason) }},
	{"anyway", func(s sheet, e *traveler.Entry) { s.yes(e.Scan.Anyway) }},
	{"note", func(s sheet, e *traveler.Entry) { s.text(e.Scan.Note) }},
	{"language", func(s sheet, e *traveler.Entry) { s.text(e.Scan.Language) }},
	{"device", func(s sheet, e *traveler.Entry) { s.text(string(e.Scan.Device)) }},
	{"n", func(s sheet, e *traveler.Entry) {
		if e.Scan.N > 1<<53 { // more than a spreadsheet counts to
			s.text(strconv.FormatUint(e.Scan.N, 10))
			return
		}
		some(s, int64(e.Scan.N))
	}},
	{"offset_ms", func(s sheet, e *traveler.Entry) { some(s, e.Scan.OffsetMS) }},
	{"within_ms", func(s sheet, e *traveler.Entry) { some(s, e.Scan.WithinMS) }},
	{"basis", func(s sheet, e *traveler.Entry) { some(s, int64(e.Scan.Basis)) }},
	{"present", func(s sheet, e *traveler.Entry) {
		if e.Scan.Present == nil {
			s.none()
			return
		}
		s.yes(*e.Scan.Present)
	}},
	{"outcome", func(s sheet, e *traveler.Entry) { s.text(string(e.Outcome)) }},
	{"say", func(s sheet, e *traveler.Entry) { s.text(sayText(e.Say)) }},
	{"by", func(s sheet, e *traveler.Entry) { s.text(e.By.Name) }},
	{"role", func(s sheet, e *traveler.Entry) { s.text(string(e.By.Role)) }},
}

// zoneFields stand in a workbook only, whose times are dates by a clock: they say
// how far that was from UTC.
var zoneFields = []field[traveler.Entry]{
	{"at_zone", func(s sheet, e *traveler.Entry) { s.zone(e.Scan.At) }},
	{"arrived_zone", func(s sheet, e *traveler.Entry) { s.zone(e.Arrived) }},
	{"happened_zone", func(s sheet, e *traveler.Entry) {
		if e.Scan.Happened == nil {
			s.none()
			return
		}
		s.zone(*e.Scan.Happened)
	}},
}

// some writes a number, which is 0 when it was not said.
func some(s sheet, n int64) {
	if n == 0 {
		s.none()
		return
	}
	s.whole(n)
}

func said(s sheet, n *int) {
	if n == nil {
		s.none()
		return
	}
	s.whole(int64(*n))
}

const sayMark = " | "

func sayText(m traveler.Msg) string {
	if m.Key == "" {
		return ""
	}
	return strings.Join(append([]string{m.Key}, m.Args...), sayMark)
}

func sayOf(s string) traveler.Msg {
	if s == "" {
		return traveler.Msg{}
	}
	key, rest, more := strings.Cut(s, sayMark)
	if !more {
		return traveler.Msg{Key: key}
	}
	return traveler.Msg{Key: key, Args: strings.Split(rest, sayMark)}
}

// Scans writes a list of scans.
type Scans struct {
	list *List[traveler.Entry]
	json *json.Encoder
}

// NewScans begins a list of scans. As JSON Lines each has its scan as it was sent. It
// fails as w does, and for a format that is none.
func NewScans(w io.Writer, f Format, zone *time.Location) (*Scans, error) {
	if f == JSONL {
		return &Scans{json: json.NewEncoder(w)}, nil
	}
	fields := scanFields
	if f == XLSX {
		fields = append(slices.Clip(fields), zoneFields...)
	}
	l, err := newList(w, f, "scans", zone, fields)
	return &Scans{list: l}, err
}

// Add writes a scan; an entry that is none is passed over. It fails as the writer does,
// and when a sheet has no more rows.
func (l *Scans) Add(e *traveler.Entry) error {
	switch {
	case e.Scan == nil:
		return nil
	case l.list != nil:
		return l.list.Add(e)
	}
	x := exported{e.Seq, e.Arrived, e.By.Name, e.By.Role, e.Outcome, nil, e.Card, e.Machine, e.Other, e.Scan}
	if e.Say.Key != "" {
		x.Say = &e.Say
	}
	return l.json.Encode(x)
}
