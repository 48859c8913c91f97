package store

import (
	"encoding/json"
	"strconv"
	"time"

	"tallywalk/traveler"
)

// scan is the part of a body that says a scan.
type scan struct {
	ID        string      `json:"i,omitempty"`
	Device    string      `json:"d,omitempty"`
	N         uint64      `json:"n,omitempty"`
	At        int64       `json:"t,omitempty"` // milliseconds before arrival
	OffsetMS  int64       `json:"f,omitempty"`
	WithinMS  int64       `json:"w,omitempty"`
	Basis     *int64      `json:"y,omitempty"` // sequences before this one
	Present   *bool       `json:"pr,omitempty"`
	Happened  *int64      `json:"h,omitempty"` // milliseconds before arrival
	Station   string      `json:"s,omitempty"`
	Card      string      `json:"c,omitempty"`
	Action    string      `json:"x,omitempty"`
	Operator  string      `json:"p,omitempty"`
	Operation traveler.Op `json:"op,omitempty"`
	Visit     string      `json:"v,omitempty"`
	Phase     string      `json:"ph,omitempty"`
	Good      *int        `json:"g,omitempty"`
	Scrap     []loss      `json:"z,omitempty"`
	Rework    []loss      `json:"rw,omitempty"`
	Review    []loss      `json:"rv,omitempty"`
	Missing   *int        `json:"mi,omitempty"`
	Measured  []measured  `json:"ms,omitempty"`
	Reads     *int        `json:"rd,omitempty"`
	Pieces    int         `json:"pc,omitempty"`
	To        string      `json:"to,omitempty"`
	For       string      `json:"fo,omitempty"`
	Reason    string      `json:"rs,omitempty"`
	Anyway    bool        `json:"aw,omitempty"`
	Note      string      `json:"nt,omitempty"`
	Language  string      `json:"la,omitempty"`
}

// measured is a dimension as it was found.
type measured struct {
	Dimension string  `json:"d"`
	Nominal   float64 `json:"n,omitempty"`
	Lower     float64 `json:"l,omitempty"`
	Upper     float64 `json:"u,omitempty"`
	Found     float64 `json:"f,omitempty"`
	Unit      string  `json:"m,omitempty"`
}

func packMeasured(l []traveler.Measured) (out []measured) {
	for _, m := range l {
		out = append(out, measured(m))
	}
	return out
}

func unpackMeasured(l []measured) (out []traveler.Measured) {
	for _, m := range l {
		out = append(out, traveler.Measured(m))
	}
	return out
}

// loss is a list: reason, number, and the operation that caused it if it is
// another one.
type loss traveler.Loss

func (p *pen) losses(key string, l []traveler.Loss) {
	if len(l) == 0 {
		return
	}
	p.key(key)
	for i, x := range l {
		p.b = append(p.b, "[,"[min(i, 1)], '[')
		p.quote(x.Reason)
		p.b = strconv.AppendInt(append(p.b, ','), int64(x.N), 10)
		if x.CausedAt != 0 {
			p.b = strconv.AppendInt(append(p.b, ','), int64(x.CausedAt), 10)
		}
		p.b = append(p.b, ']')
	}
	p.b = append(p.b, ']')
}

// UnmarshalJSON reads the list.
func (l *loss) UnmarshalJSON(data []byte) error {
	*l = loss{}
	return json.Unmarshal(data, &[]any{&l.Reason, &l.N, &l.CausedAt})
}

func (p *pen) scan(e *traveler.Entry) {
	s := e.Scan
	p.id("i", s.ID)
	p.some("d", string(s.Device))
	p.uint("n", s.N)
	p.int("t", before(e.Arrived, s.At))
	p.int("f", s.OffsetMS)
	p.int("w", s.WithinMS)
	if s.Basis != 0 {
		p.must("y", int64(e.Seq-s.Basis))
	}
	if s.Present != nil {
		p.bool("pr", *s.Present)
	}
	if s.Happened != nil {
		p.must("h", before(e.Arrived, *s.Happened))
	}
	p.some("s", s.Station)
	p.some("c", s.Card)
	p.some("x", actions.pack(string(s.Action)))
	p.some("p", string(s.Operator))
	p.int("op", int64(s.Operation))
	if s.Visit != "" {
		p.id("v", s.Visit)
	}
	p.some("ph", s.Phase)
	p.number("g", s.Good)
	p.losses("z", s.Scrap)
	p.losses("rw", s.Rework)
	p.losses("rv", s.Review)
	p.number("mi", s.Missing)
	if len(s.Measured) > 0 {
		p.json("ms", packMeasured(s.Measured))
	}
	p.number("rd", s.Reads)
	p.int("pc", int64(s.Pieces))
	p.some("to", s.To)
	p.some("fo", s.For)
	p.some("rs", s.Reason)
	if s.Anyway {
		p.bool("aw", true)
	}
	p.some("nt", s.Note)
	p.some("la", s.Language)
}

func (s *scan) unpack(b *body, seq traveler.Seq) (*traveler.Scan, error) {
	id, err := unpackID(s.ID)
	if err != nil {
		return nil, err
	}
	visit := traveler.ScanID("")
	if s.Visit != "" {
		if visit, err = unpackID(s.Visit); err != nil {
			return nil, err
		}
	}
	out := &traveler.Scan{
		ID: id, Device: traveler.DeviceID(s.Device), N: s.N, At: fromMS(b.Arrived - s.At),
		OffsetMS: s.OffsetMS, WithinMS: s.WithinMS,
		Present: s.Present, Station: s.Station, Card: s.Card,
		Action:   traveler.Action(actions.unpack(s.Action)),
		Operator: traveler.PersonID(s.Operator), Operation: s.Operation, Visit: visit, Phase: s.Phase,
		Good: s.Good, Scrap: unpackLosses(s.Scrap), Rework: unpackLosses(s.Rework),
		Review:  unpackLosses(s.Review),
		Missing: s.Missing, Measured: unpackMeasured(s.Measured), Reads: s.Reads, Pieces: s.Pieces, To: s.To,
		For: s.For, Reason: s.Reason,
		Anyway: s.Anyway, Note: s.Note, Language: s.Language,
	}
	if s.Basis != nil {
		out.Basis = seq - traveler.Seq(*s.Basis)
	}
	if s.Happened != nil {
		t := fromMS(b.Arrived - *s.Happened)
		out.Happened = &t
	}
	return out, nil
}

// before is how many milliseconds t lies before arrival.
func before(arrived, t time.Time) int64 { return arrived.UnixMilli() - t.UnixMilli() }

func unpackLosses(l []loss) []traveler.Loss {
	out := make([]traveler.Loss, 0, len(l))
	for _, x := range l {
		out = append(out, traveler.Loss(x))
	}
	return NilIfEmpty(out)
}
