package printers

import (
	"cmp"
	"strconv"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/rows"
)

// Where printers and documents are kept.
const (
	tablePrinters = "printers"
	tablePrints   = "prints"
	tableSettings = "settings"
	keyPrinting   = "printing"
	mostKept      = 300 // documents
	mostWaiting   = 500 // documents that have not ended
	mostListed    = 200 // documents
)

// Kinds of documents.
const (
	kindCard  = "card"
	kindTest  = "test"
	kindLabel = "label"
)

// printer is a printer as it is kept.
type printer struct {
	ID      string    `json:"id"`
	Name    string    `json:"name"`
	Address string    `json:"address"`
	Key     string    `json:"key,omitempty"`
	Model   string    `json:"model,omitempty"`
	Made    time.Time `json:"made"`
	By      string    `json:"by"`
}

func (p *printer) at() paper.Address { return paper.Address{URI: p.Address, Key: p.Key} }

// byItself is what is printed by itself: the cards of batches that are released.
type byItself struct {
	Printer string `json:"printer"` // its id; empty = nothing is
	Size    string `json:"size" api:"enum=A5|A4|A4x2,blank"`
}

// kept is a document on its way, or what became of it.
type kept struct {
	ID       string          `json:"id"`
	Printer  string          `json:"printer"`
	Kind     string          `json:"kind"`
	Cards    []traveler.Code `json:"cards,omitempty"`
	Size     string          `json:"size"`
	Label    string          `json:"label,omitempty"` // the kind of a label
	Language string          `json:"language"`
	Title    string          `json:"title"`
	By       string          `json:"by"` // empty = by itself, on release
	Asked    time.Time       `json:"asked"`

	Stage    paper.Stage     `json:"stage"`
	Job      int             `json:"job,omitempty"`
	Sent     time.Time       `json:"sent,omitzero"` // when it began to go out
	Tries    int             `json:"tries,omitempty"`
	Troubles []paper.Trouble `json:"troubles,omitempty"`
	Message  string          `json:"message,omitempty"`
	Sheets   int             `json:"sheets,omitempty"`
	Cancel   bool            `json:"cancel,omitempty"` // someone wants it back
	Ended    time.Time       `json:"ended,omitzero"`
}

// name is what the job is called at the printer: no two have the same.
func (k *kept) name() string { return paper.JobName(k.ID, k.Tries, k.Title) }

func (s *Printers) printers() ([]printer, error) {
	return rows.List(s.Tables, tablePrinters, rows.Row[printer],
		func(a, b printer) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
}

// printer finds a printer. It fails with KindNotFound where there is none, and as the
// tables do.
func (s *Printers) printer(id string) (*printer, error) {
	var p printer
	there, err := rows.Read(s.Tables, tablePrinters, id, &p)
	if err == nil && !there {
		err = traveler.Fail(traveler.KindNotFound, "printer.unknown", id)
	}
	return &p, err
}

func (s *Printers) byItself() (how byItself, err error) {
	_, err = rows.Read(s.Tables, tableSettings, keyPrinting, &how)
	return how, err
}

// documents are all that are kept, in the order in which they were asked for.
func (s *Printers) documents() ([]kept, error) {
	return rows.List(s.Tables, tablePrints, rows.Row[kept],
		func(a, b kept) int { return cmp.Or(a.Asked.Compare(b.Asked), cmp.Compare(a.ID, b.ID)) })
}

// add keeps a document that is to be printed, unless there is one of that id, and
// forgets the oldest that have ended. It fails with KindBusy while as many wait as may,
// and as the tables do.
func (s *Printers) add(k *kept) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	var there kept
	if found, err := rows.Read(s.Tables, tablePrints, k.ID, &there); err != nil || found {
		*k = there
		return err
	}
	if err := s.room(); err != nil {
		return err
	}
	k.Title, k.Asked, k.Stage = s.title(k), s.Time(), paper.StageWaiting
	if err := rows.Write(s.Tables, tablePrints, k.ID, k); err != nil {
		return err
	}
	s.knock()
	return s.forget()
}

// room fails with KindBusy while as many documents wait as may, and as the tables do.
func (s *Printers) room() error {
	all, err := s.documents()
	if err != nil {
		return err
	}
	n := 0
	for i := range all {
		if !all[i].Stage.Ended() {
			n++
		}
	}
	if n >= mostWaiting {
		return traveler.Fail(traveler.KindBusy, "print.many", strconv.Itoa(n))
	}
	return nil
}

// forget drops the oldest documents that have ended, down to so many.
func (s *Printers) forget() error {
	all, err := s.documents()
	if err != nil {
		return err
	}
	for i := range all {
		if len(all)-i <= mostKept {
			break
		}
		if all[i].Stage.Ended() {
			if err := s.Tables.Delete(tablePrints, all[i].ID); err != nil {
				return err
			}
		}
	}
	return nil
}

// change changes a document as it is kept now, and returns it. It fails with
// KindNotFound where there is none, with KindBusy where it is to be printed again while as
// many wait as may, and as the tables do.
func (s *Printers) change(id string, by func(*kept)) (*kept, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var k kept
	there, err := rows.Read(s.Tables, tablePrints, id, &k)
	if err != nil {
		return nil, err
	}
	if !there {
		return nil, traveler.Fail(traveler.KindNotFound, "print.unknown", id)
	}
	was := k.Stage
	by(&k)
	switch {
	case k.Stage.Ended() && !was.Ended():
		k.Ended = s.Time()
	case was.Ended() && !k.Stage.Ended(): // printed again: it waits as any other does
		if err := s.room(); err != nil {
			return nil, err
		}
	}
	err = rows.Write(s.Tables, tablePrints, id, &k)
	if k.Cancel || was.Ended() != k.Stage.Ended() {
		s.knock()
	}
	return &k, err
}

// news is closed when there is something to do that there was not before.
func (s *Printers) news() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.changed
}

// knock says that there is something to do; s.mu is held.
func (s *Printers) knock() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// withWork are the printers that have documents to be sent or followed and that nobody
// serves yet; they count as served from here on.
func (s *Printers) withWork() (ids []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.Sole != nil && !s.Sole() {
		return nil
	}
	all, err := s.documents()
	s.warn(err)
	for i := range all {
		if k := &all[i]; !k.Stage.Ended() && !s.busy[k.Printer] {
			s.busy[k.Printer] = true
			ids = append(ids, k.Printer)
		}
	}
	return ids
}

// next is the first document of a printer that has not ended; nil when there is none, or
// another server serves the printer, and then nobody serves the printer any more. It fails as the tables do.
func (s *Printers) next(printer string) (*kept, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.Sole != nil && !s.Sole() {
		delete(s.busy, printer)
		return nil, nil
	}
	all, err := s.documents()
	if err != nil {
		return nil, err
	}
	for i := range all {
		if k := &all[i]; k.Printer == printer && !k.Stage.Ended() {
			return k, nil
		}
	}
	delete(s.busy, printer)
	return nil, nil
}
