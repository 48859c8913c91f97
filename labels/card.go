package labels

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
)

// Card is what a job card says about one batch. Empty text and zero values
// leave room to write by hand.
type Card struct {
	Code         string // the batch's code, for instance B7K3M9QXA
	URL          string // scheme, host and port; "" puts the bare code in the main QR
	WorksOrder   string
	Part         string
	PartName     string
	DrawingRev   string
	RouteRev     string
	Material     string
	MaterialLots []string
	Customer     string
	OrderLine    string
	Pieces       int       // started
	Wanted       int       // 0 = not said
	Due          time.Time // zero = none
	Priority     int       // 0 = not said
	Hot          bool      // goes before all that is not
	Printed      time.Time // date of printing, in the shop's time zone
	HeadHash     string    // short text of the record's head
	Operations   []CardOperation
}

// CardOperation is one operation on a card, in the order of the route.
type CardOperation struct {
	Number         int
	WorkCentre     string
	Instruction    string
	SetupMin       float64 // planned set-up, minutes
	CycleMin       float64 // planned machine cycle, minutes
	PiecesPerCycle int     // 0 and 1 are the same
	Clampings      int
	FirstOff       bool
	Outside        bool
	OutsideDays    float64 // calendar days
}

// mainSide is the least side of the card's main QR in mm, without its quiet
// zone, and opSide that of an operation's.
const (
	mainSide = 32.0
	opSide   = 12.2
	// maxModules keeps a module of the main QR at half a millimetre or more.
	maxModules = 61
)

// cardsPart is how many cards are drawn before they are written: the more, the more
// memory; the fewer, the more often the typefaces are in the file.
const cardsPart = 100

// WriteCards writes one PDF with all cards, each on as many pages as its
// operations need. The PDF's date is the first card's date of printing. It
// fails for no cards, for a code that is not capitals and digits, and for a URL
// that cannot be read back from the QR.
func WriteCards(w io.Writer, cards []Card, paper Paper, tr Texts) error {
	if len(cards) == 0 {
		return fmt.Errorf("no cards to print; name at least one batch")
	}
	if len(cards) <= cardsPart {
		return writePart(w, cards, 0, paper, tr)
	}
	return WriteManyCards(w, len(cards), func(i int) (Card, error) { return cards[i], nil }, paper, tr)
}

// WriteManyCards writes as WriteCards does, but asks for each card when it comes to it,
// so that the cards of a whole order book need not be in memory together; card is called
// from two goroutines. After every
// hundred it writes a comment that counts them, "%cards 100", for whoever reads along.
// It fails as WriteCards and card do.
func WriteManyCards(w io.Writer, n int, card func(i int) (Card, error), paper Paper, tr Texts) error {
	type part struct {
		pdf  bytes.Buffer
		upto int
		err  error
	}
	draw := func(from int) <-chan *part {
		out := make(chan *part, 1)
		go func() {
			p := &part{upto: min(from+cardsPart, n)}
			defer func() { out <- p }()
			var cards []Card
			for i := from; i < p.upto; i++ {
				c, err := card(i)
				if p.err = err; err != nil {
					return
				}
				cards = append(cards, c)
			}
			if len(cards) > 0 {
				p.err = writePart(&p.pdf, cards, from, paper, tr)
			}
		}()
		return out
	}
	j := newJoiner(w)
	now, then := draw(0), draw(cardsPart) // two at a time, on a core each
	defer func() { _, _ = <-now, <-then }()
	for from := 0; from < n; from += cardsPart {
		p := <-now
		now, then = then, draw(from+2*cardsPart)
		if p.err != nil {
			return p.err
		}
		if err := j.add(p.pdf.Bytes()); err != nil {
			return err
		}
		j.print("%%cards %d\n", p.upto)
	}
	return j.end()
}

// writePart writes cards as a PDF of their own; before is how many came before them.
func writePart(w io.Writer, cards []Card, before int, paper Paper, tr Texts) error {
	s := newSheet(paper, tr.say("card")+" "+clean(cards[0].Code), cards[0].Printed)
	for i := range cards {
		if err := s.card(&cards[i], paper, tr); err != nil {
			order := cut(clean(cards[i].WorksOrder), 40, runeCount)
			return fmt.Errorf("card %d (works order %q): %w", before+i+1, order, err)
		}
	}
	return s.write(w)
}

func runeCount(s string) float64 { return float64(len([]rune(s))) }

// CardURL is what the card's main QR holds: base/S/CODE in capitals, so that the QR's
// alphanumeric mode carries it. It fails when the code is no code of a card, or the
// base has characters that a scanner cannot type.
func CardURL(base, code string) (string, error) {
	if !plainCode(code) {
		return "", fmt.Errorf(
			"code %q is not made of capitals and digits; print the card of a released batch", code)
	}
	base = strings.TrimRight(strings.TrimSpace(base), "/")
	if base == "" {
		return code, nil
	}
	for _, r := range base {
		if r <= ' ' || r > '~' {
			return "", fmt.Errorf(
				"public URL %q has a character that a scanner cannot type; use plain letters, digits, dots and a port", base)
		}
	}
	return strings.ToUpper(base) + "/S/" + code, nil
}

// job is a card being drawn.
type job struct {
	*sheet
	c    *Card
	t    Texts
	d    design
	main symbol
	bare symbol // the small code that heads the pages after the first
	head head
	rows []row
}

func (s *sheet) card(c *Card, paper Paper, tr Texts) error {
	j := &job{sheet: s, c: c, t: tr, d: designs[paper]}
	if err := j.codes(); err != nil {
		return err
	}
	j.head = j.measureHead()
	if err := j.measureRows(); err != nil {
		return err
	}
	pages := j.paginate()
	for i, p := range pages {
		j.page(p, i+1, len(pages))
	}
	return nil
}

func (j *job) codes() error {
	url, err := CardURL(j.c.URL, j.c.Code)
	if err != nil {
		return err
	}
	if j.main, err = sturdySymbol(url, mainSide); err != nil {
		return err
	}
	if len(j.main.modules) > maxModules {
		return fmt.Errorf("public URL of %d characters makes the QR too fine to read; use a shorter one",
			len(j.c.URL))
	}
	j.bare, err = newSymbol(j.c.Code, H, opSide)
	return err
}

func (j *job) opCode(o *CardOperation) (symbol, error) {
	if o.Number < 1 || o.Number > 99999 {
		return symbol{}, fmt.Errorf("operation number %d cannot be printed; use 1 to 99999", o.Number)
	}
	return newSymbol(j.c.Code+"/"+strconv.Itoa(o.Number), Q, opSide)
}
