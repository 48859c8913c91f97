package store

import (
	"encoding/json"
	"fmt"
	"time"

	"tallywalk/traveler"
)

// Format is the number of the newest format of the file that this program reads;
// a file with a higher one is refused. A file carries the lowest number of a
// program that can read it: 5 once it followed a record that several servers keep, which
// must not be written without them; 4 once a row of a table was changed, since earlier
// programs would not keep its sum; 3 once someone said what is there for an operation,
// which earlier programs take for work; 2 once an entry of its own began an epoch, else 1.
const (
	Format       = formatShared
	formatShared = 5
	formatSums   = 4
	formatReady  = 3
	formatEpoch  = 2
	formatPlain  = 1
)

// LedgerFormat is the number of the form of snapshot and ledger. Those of
// another form are made again from the record.
const LedgerFormat = 9

// body is how an entry lies in the record. Common keys have one letter, rare
// ones two. Left out is what can be known from the rest: times of a scan are
// milliseconds before arrival, basis is counted back from the entry's own
// sequence, Card and Machine only appear when they differ from what was
// scanned, the actor only when it is not the device. Keys are never reused.
type body struct {
	Arrived int64   `json:"a"` // unix milliseconds
	By      *string `json:"b,omitempty"`
	Role    string  `json:"r,omitempty"`
	Rules   int     `json:"ru,omitempty"`
	scan
	Release *release            `json:"re,omitempty"`
	Change  *change             `json:"ch,omitempty"`
	Outcome *string             `json:"o,omitempty"`
	SayKey  string              `json:"sk,omitempty"`
	SayArgs []string            `json:"sa,omitempty"`
	Batch   *traveler.Code      `json:"ca,omitempty"`
	Machine *traveler.MachineID `json:"ma,omitempty"`
	Other   traveler.Code       `json:"ot,omitempty"`
	Target  traveler.Seq        `json:"ta,omitempty"`
	Epoch   string              `json:"ep,omitempty"`
	Bound   *int64              `json:"nb,omitempty"` // NotBefore, milliseconds before arrival
	Clock   *int64              `json:"sc,omitempty"` // Clock, milliseconds before arrival
}

// Short forms of common words. What is not listed is written in full, with an
// equals sign before it where it could be taken for a short form.
var (
	roles = shortForms(map[string]string{
		string(traveler.RoleOperator): "", string(traveler.RoleWatcher): "w",
		string(traveler.RoleInspector):  "i",
		string(traveler.RoleSupervisor): "s", string(traveler.RolePlanner): "p",
		string(traveler.RoleAdministrator): "a",
	})
	outcomes = shortForms(map[string]string{
		string(traveler.Kept): "k", string(traveler.Questioned): "q", string(traveler.Refused): "r",
	})
	actions = shortForms(map[string]string{
		string(traveler.ActCount): "", string(traveler.ActArrive): "a", string(traveler.ActSetup): "s",
		string(traveler.ActFirstOff): "1", string(traveler.ActRun): "r", string(traveler.ActStop): "x",
		string(traveler.ActFinish): "f", string(traveler.ActUndo): "u", string(traveler.ActMove): "m",
	})
)

type short struct{ of, from map[string]string }

func shortForms(of map[string]string) short {
	s := short{of, map[string]string{}}
	for word, letter := range of {
		s.from[letter] = word
	}
	return s
}

func (s short) pack(word string) string {
	if letter, ok := s.of[word]; ok {
		return letter
	}
	if _, ambiguous := s.from[word]; ambiguous || word == "" || word[0] == '=' {
		return "=" + word
	}
	return word
}

func (s short) unpack(letter string) string {
	if word, ok := s.from[letter]; ok {
		return word
	}
	if letter != "" && letter[0] == '=' {
		return letter[1:]
	}
	return letter
}

// Encode appends an entry, as it lies in the record, to what buf holds. It fails when
// the entry is none: not exactly one of scan, release and change (or none of them and
// an epoch), or an id that is no UUID. It writes by hand what json.Marshal would write
// of a body, for the writer's sake.
func Encode(buf []byte, e *traveler.Entry) ([]byte, error) {
	p := pen{b: buf}
	implied := known{}
	if e.Scan != nil {
		implied = knownOf(e.Scan)
	}
	p.open()
	p.must("a", e.Arrived.UnixMilli())
	if e.By.Name != implied.by {
		p.text("b", e.By.Name)
	}
	p.some("r", roles.pack(string(e.By.Role)))
	p.int("ru", int64(e.Rules))
	switch {
	case e.Scan != nil && e.Release == nil && e.Change == nil:
		p.scan(e)
	case e.Release != nil && e.Scan == nil && e.Change == nil:
		p.id("", e.Release.ID)
		p.json("re", packRelease(e.Release))
	case e.Change != nil && e.Scan == nil && e.Release == nil:
		p.json("ch", packChange(e.Change))
	case e.Begins():
	default:
		return nil, fmt.Errorf("entry %d is not one of scan, release and change", e.Seq)
	}
	if e.Outcome != implied.outcome {
		p.text("o", outcomes.pack(string(e.Outcome)))
	}
	p.some("sk", e.Say.Key)
	if len(e.Say.Args) > 0 {
		p.json("sa", e.Say.Args)
	}
	if e.Card != implied.card {
		p.text("ca", string(e.Card))
	}
	if e.Machine != implied.machine {
		p.text("ma", string(e.Machine))
	}
	p.some("ot", string(e.Other))
	p.uint("ta", uint64(e.Target))
	p.some("ep", e.Epoch)
	if !e.NotBefore.IsZero() {
		p.must("nb", before(e.Arrived, e.NotBefore))
	}
	if !e.Clock.IsZero() {
		p.must("sc", before(e.Arrived, e.Clock))
	}
	p.close()
	return p.b, p.err
}

// known is what a reader of the body takes for said where it says nothing.
type known struct {
	by      string
	card    traveler.Code
	machine traveler.MachineID
	outcome traveler.Outcome
}

func knownOf(s *traveler.Scan) known {
	return known{
		by: string(s.Device), card: traveler.Code(s.Card), machine: traveler.MachineID(s.Station),
		outcome: traveler.Kept,
	}
}

func or[T any](p *T, known T) T {
	if p == nil {
		return known
	}
	return *p
}

// decode reads what encode wrote. Any bytes give an entry or an error.
func decode(seq traveler.Seq, data []byte) (*traveler.Entry, error) {
	var b body
	if err := json.Unmarshal(data, &b); err != nil {
		return nil, err
	}
	e := &traveler.Entry{
		Seq: seq, Arrived: fromMS(b.Arrived), Rules: b.Rules,
		Say:   traveler.Msg{Key: b.SayKey, Args: NilIfEmpty(b.SayArgs)},
		Other: b.Other, Target: b.Target, Epoch: b.Epoch,
	}
	if b.Bound != nil {
		e.NotBefore = fromMS(b.Arrived - *b.Bound)
	}
	if b.Clock != nil {
		e.Clock = fromMS(b.Arrived - *b.Clock)
	}
	e.By.Role = traveler.Role(roles.unpack(b.Role))
	var implied known
	var err error
	switch {
	case b.Change != nil:
		e.Change = b.Change.unpack()
	case b.Release != nil:
		e.Release, err = b.Release.unpack()
	case b.ID == "" && b.Epoch != "":
		// It begins an epoch and says nothing else.
	default:
		e.Scan, err = b.scan.unpack(&b, seq)
		if err == nil {
			implied = knownOf(e.Scan)
		}
	}
	e.By.Name, e.Card, e.Machine = or(b.By, implied.by), or(b.Batch, implied.card),
		or(b.Machine, implied.machine)
	e.Outcome = implied.outcome
	if b.Outcome != nil {
		e.Outcome = traveler.Outcome(outcomes.unpack(*b.Outcome))
	}
	return e, err
}

func fromMS(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// Whole is a time as the record keeps it: UTC, in whole milliseconds.
func Whole(t time.Time) time.Time { return fromMS(t.UnixMilli()) }

// NilIfEmpty gives lists the form in which they are read back.
func NilIfEmpty[T any](s []T) []T {
	if len(s) == 0 {
		return nil
	}
	return s
}
