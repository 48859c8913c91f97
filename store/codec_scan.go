package store

import (
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strings"
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
	Reads     *int        `json:"rd,omitempty"`
	Pieces    int         `json:"pc,omitempty"`
	To        string      `json:"to,omitempty"`
	For       string      `json:"fo,omitempty"`
	Reason    string      `json:"rs,omitempty"`
	Anyway    bool        `json:"aw,omitempty"`
	Note      string      `json:"nt,omitempty"`
	Language  string      `json:"la,omitempty"`
}

// loss is written as a list: reason, number, and the operation that caused it
// if it is another one.
type loss traveler.Loss

// MarshalJSON writes the list.
func (l loss) MarshalJSON() ([]byte, error) {
	if l.CausedAt == 0 {
		return json.Marshal([]any{l.Reason, l.N})
	}
	return json.Marshal([]any{l.Reason, l.N, l.CausedAt})
}

// UnmarshalJSON reads the list.
func (l *loss) UnmarshalJSON(data []byte) error {
	*l = loss{}
	return json.Unmarshal(data, &[]any{&l.Reason, &l.N, &l.CausedAt})
}

func packScan(e *traveler.Entry) (scan, error) {
	s := e.Scan
	id, err := packID(s.ID)
	if err != nil {
		return scan{}, err
	}
	visit := ""
	if s.Visit != "" {
		if visit, err = packID(s.Visit); err != nil {
			return scan{}, err
		}
	}
	out := scan{
		ID: id, Device: string(s.Device), N: s.N, At: before(e.Arrived, s.At), OffsetMS: s.OffsetMS, WithinMS: s.WithinMS,
		Present: s.Present, Station: s.Station, Card: s.Card, Action: actions.pack(string(s.Action)),
		Operator: string(s.Operator), Operation: s.Operation, Visit: visit, Phase: s.Phase,
		Good: s.Good, Scrap: packLosses(s.Scrap), Rework: packLosses(s.Rework), Review: packLosses(s.Review),
		Missing: s.Missing, Reads: s.Reads, Pieces: s.Pieces, To: s.To, For: s.For, Reason: s.Reason,
		Anyway: s.Anyway, Note: s.Note, Language: s.Language,
	}
	if s.Basis != 0 {
		ago := int64(e.Seq - s.Basis)
		out.Basis = &ago
	}
	if s.Happened != nil {
		ms := before(e.Arrived, *s.Happened)
		out.Happened = &ms
	}
	return out, nil
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
		ID: id, Device: traveler.DeviceID(s.Device), N: s.N, At: fromMS(b.Arrived - s.At), OffsetMS: s.OffsetMS, WithinMS: s.WithinMS,
		Present: s.Present, Station: s.Station, Card: s.Card, Action: traveler.Action(actions.unpack(s.Action)),
		Operator: traveler.PersonID(s.Operator), Operation: s.Operation, Visit: visit, Phase: s.Phase,
		Good: s.Good, Scrap: unpackLosses(s.Scrap), Rework: unpackLosses(s.Rework), Review: unpackLosses(s.Review),
		Missing: s.Missing, Reads: s.Reads, Pieces: s.Pieces, To: s.To, For: s.For, Reason: s.Reason,
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

func packLosses(l []traveler.Loss) []loss {
	out := make([]loss, 0, len(l))
	for _, x := range l {
		out = append(out, loss(x))
	}
	return some(out)
}

func unpackLosses(l []loss) []traveler.Loss {
	out := make([]traveler.Loss, 0, len(l))
	for _, x := range l {
		out = append(out, traveler.Loss(x))
	}
	return some(out)
}

// rawID is the 16 bytes of a UUID.
func rawID(id traveler.ScanID) (raw [16]byte, err error) {
	if !id.Valid() {
		return raw, errors.New("the id " + string(id) + " is no UUID")
	}
	_, err = hex.Decode(raw[:], []byte(strings.ReplaceAll(string(id), "-", "")))
	return raw, err
}

func nameID(raw []byte) traveler.ScanID {
	h := hex.EncodeToString(raw)
	return traveler.ScanID(h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:])
}

// packID writes a UUID in 22 characters.
func packID(id traveler.ScanID) (string, error) {
	raw, err := rawID(id)
	return base64.RawURLEncoding.EncodeToString(raw[:]), err
}

func unpackID(s string) (traveler.ScanID, error) {
	raw, err := base64.RawURLEncoding.Strict().DecodeString(s)
	if err != nil || len(raw) != 16 {
		return "", errors.New("no id where one should be")
	}
	return nameID(raw), nil
}
