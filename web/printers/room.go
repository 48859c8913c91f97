// Package printers sends cards and sheets straight to printers on the network, and says
// what becomes of them.
//
// # Decisions, with their reasons
//
//   - A document is kept as what it is of, not as bytes: it is drawn when its turn comes,
//     so that a card that waited for a printer says how the batch is then.
//   - Nothing is printed twice by itself. What did not go out whole is sent again; what
//     did, and was not answered, is looked for at the printer, by its number or its name.
//     Where the printer has forgotten it (it was switched off meanwhile), nobody can know
//     whether it came out: it is unsure, and someone looks at the tray and says so.
//   - A printer that is off, busy or paused is asked again for as long as it takes; one
//     that refuses a format or a paper is not.
//   - Each printer is given one document after the other, in the order in which they were
//     asked for.
//   - Of several servers of one record the one that decides serves the printers, whichever
//     was asked. One that has just begun to finds what the one before sent as it finds its
//     own after a restart.
//   - Only administrators name addresses, and only addresses that answer as a printer
//     does are kept: the server speaks to no others.
//   - What was printed is remembered for the newest 300 documents. At most 500 wait to be
//     printed: a printer that is off for days must not fill the disk, nor pour out a box of
//     paper when it is on again. The newest 200 are listed.
package printers

import (
	"context"
	"io"
	"sync"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	// Link reaches the printers; nil = none can be added.
	Link paper.Printers
	// Print writes job cards as PDF, in a language.
	Print func(w io.Writer, cards []paper.Printed, size, language string) error
	// PrintLabels writes labels, all of one size.
	PrintLabels func(w io.Writer, labels []paper.Label, size, language string) error
	// PrintSheet writes another sheet.
	PrintSheet func(w io.Writer, sheet paper.Sheet, language string) error
	// Sole reports whether this server gives the printers what is asked for: of several
	// that have the same rows only one does. nil = it always does.
	Sole func() bool
}

// Printers is the room.
type Printers struct {
	*door.Door
	Config

	mu      sync.Mutex      // over the rows
	busy    map[string]bool // printers that are being given documents
	changed chan struct{}   // closed when there is something to do, and then another
}

// New makes the room; Run sends what is asked for.
func New(d *door.Door, cfg Config) *Printers {
	return &Printers{Door: d, Config: cfg, busy: map[string]bool{}, changed: make(chan struct{})}
}

// Routes are the ways to the printers.
func (s *Printers) Routes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/printers", Deed: traveler.DeedLook, Handle: s.list,
			Does:   "the printers, and what is printed by itself",
			Answer: printersView{}, Example: ask.Example{At: "/api/v1/printers"},
		},
		{
			Method: "POST", Path: "/api/v1/printers", Deed: traveler.DeedAccounts, Handle: s.postPrinter,
			Does: "add a printer by its address, once it answers",
			Body: printerToAdd{}, Status: 201, Answer: printerView{},
		},
		{
			Method: "GET", Path: "/api/v1/printers/:id", Deed: traveler.DeedRelease, Handle: s.getPrinter,
			Does:   "what a printer says of itself now",
			Params: []ask.Param{ask.Text("id", "of the printer")}, Answer: saysView{},
		},
		{
			Method: "DELETE", Path: "/api/v1/printers/:id", Deed: traveler.DeedAccounts,
			Handle: s.deletePrinter,
			Does:   "remove a printer; what waits for it is cancelled",
			Params: []ask.Param{ask.Text("id", "of the printer")}, Answer: printersView{},
		},
		{
			Method: "POST", Path: "/api/v1/printing", Deed: traveler.DeedAccounts, Handle: s.postPrinting,
			Does: "print the cards of batches when they are released, or no more",
			Body: byItself{}, Answer: printersView{},
		},
		{
			Method: "GET", Path: "/api/v1/prints", Deed: traveler.DeedLook, Handle: s.getPrints,
			Does:   "what was sent to printers, the newest 200 of it, newest first, and what became of it",
			Answer: printsView{}, Example: ask.Example{At: "/api/v1/prints"},
		},
		{
			Method: "POST", Path: "/api/v1/prints", Deed: traveler.DeedLook, Handle: s.postPrint,
			Does: "print something; sent again with the same id it is printed once",
			Body: wantedPrint{}, Status: 202, Answer: printView{},
		},
		{
			Method: "POST", Path: "/api/v1/prints/:id", Deed: traveler.DeedLook, Handle: s.postPrintDeed,
			Does:   "cancel a document, print it again, or say that it is there",
			Params: []ask.Param{ask.Text("id", "of the document")}, Body: printDeedBody{},
			Answer: printView{},
		},
	}
}

// mayPrint reports whether a role may use up paper: who works or releases, not who looks.
func mayPrint(r traveler.Role) bool {
	return traveler.May(r, traveler.DeedScan) || traveler.May(r, traveler.DeedRelease)
}

// Run gives the printers what is asked for, until ctx ends. What was on its way when the
// program ended goes on.
func (s *Printers) Run(ctx context.Context) {
	if s.Link == nil {
		return
	}
	var all sync.WaitGroup
	defer all.Wait()
	for {
		news := s.news()
		for _, id := range s.withWork() {
			all.Go(func() { s.serve(ctx, id) })
		}
		select {
		case <-ctx.Done():
			return
		case <-news:
		}
	}
}

// Look looks at the rows again: another server may have written some, or this one has
// become the one that serves the printers.
func (s *Printers) Look() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.knock()
}

// Released prints the cards of batches that were just released, where the shop wants it.
// What goes wrong is for the log: the batches are released all the same.
func (s *Printers) Released(answers []story.Answer) {
	if s.Link == nil {
		return
	}
	how, err := s.byItself()
	if err != nil || how.Printer == "" {
		s.warn(err)
		return
	}
	var cards []traveler.Code
	for i := range answers {
		if a := &answers[i]; a.Err == nil && !a.Again && a.Card != "" {
			cards = append(cards, a.Card)
		}
	}
	if len(cards) == 0 {
		return
	}
	s.warn(s.add(&kept{
		ID: "released-" + string(cards[0]), Printer: how.Printer, By: "", Kind: kindCard, Cards: cards,
		Size: how.Size, Language: s.Language,
	}))
}

func (s *Printers) warn(err error) {
	if err != nil {
		s.Log.Warn("printing", "err", err)
	}
}
