package printers

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
)

// How often a printer is asked how a document is, and how often one that does not
// answer is tried again.
const (
	lookEvery = time.Second
	tryFirst  = 2 * time.Second
	tryMost   = 30 * time.Second
	// remembers is how long a printer surely knows a job that has ended: one that it
	// does not know after that may have been printed and forgotten.
	remembers = 45 * time.Second
)

// serve gives a printer its documents, one after the other, until none is left.
func (s *Printers) serve(ctx context.Context, printer string) {
	quiet := 0
	for {
		news := s.news()
		k, err := s.next(printer)
		if err == nil && k == nil {
			return
		}
		answered := false
		if err == nil {
			answered, err = s.step(ctx, k)
		}
		s.warn(err)
		wait := lookEvery
		if answered {
			quiet = 0
		} else {
			wait = min(tryFirst<<min(quiet, 5), tryMost)
			quiet++
		}
		if err == nil && answered {
			if now := s.stageOf(k); now.Ended() || now != k.Stage {
				continue // the next thing to do is known
			}
		}
		if !pause(ctx, news, wait) {
			return
		}
	}
}

// pause waits, but not past news; false when ctx ends first.
func pause(ctx context.Context, news <-chan struct{}, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-t.C:
	case <-news:
	}
	return true
}

// stageOf is the stage of a document as it is kept now; the one that is known when the
// tables do not say.
func (s *Printers) stageOf(k *kept) paper.Stage {
	now, err := s.change(k.ID, func(*kept) {})
	if err != nil {
		return k.Stage
	}
	return now.Stage
}

// step does the next thing with a document: send it, find out whether it arrived, or ask
// how it is. answered is false when the printer did not answer, or was not asked. It fails
// as the tables do.
func (s *Printers) step(ctx context.Context, k *kept) (answered bool, err error) {
	p, err := s.printer(k.Printer)
	if traveler.KindOf(err) == traveler.KindNotFound { // its printer was removed
		_, err = s.change(k.ID, func(k *kept) { k.Stage = paper.StageCancelled })
		return true, err
	}
	if err != nil {
		return false, err
	}
	if k.Cancel {
		if done, err := s.takeBack(ctx, p, k); done || err != nil {
			return true, err
		}
	}
	switch k.Stage {
	case paper.StageWaiting:
		return s.send(ctx, p, k)
	case paper.StageSending:
		if k.Job == 0 {
			return s.search(ctx, p, k)
		}
	}
	return s.look(ctx, p, k)
}

// takeBack cancels a document; done is false when the printer must be asked what became
// of it.
func (s *Printers) takeBack(ctx context.Context, p *printer, k *kept) (done bool, err error) {
	if k.Stage == paper.StageWaiting {
		_, err := s.change(k.ID, func(k *kept) { k.Stage, k.Troubles = paper.StageCancelled, nil })
		return true, err
	}
	if k.Job == 0 {
		return false, nil
	}
	if err := s.Link.Cancel(ctx, p.at(), k.Job); err != nil && !errors.As(err, new(*paper.Refusal)) {
		return false, nil // off: asked again
	}
	_, err = s.change(k.ID, func(k *kept) { k.Cancel = false })
	return false, err
}

// send draws a document and gives it to its printer.
func (s *Printers) send(ctx context.Context, p *printer, k *kept) (answered bool, err error) {
	d, err := s.draw(k)
	if err != nil {
		_, err := s.change(k.ID, func(k *kept) { k.fail(paper.TroubleRefused, sentence(k.Language, err)) })
		return true, err
	}
	if k, err = s.change(k.ID, func(k *kept) {
		if k.Stage == paper.StageWaiting { // still: it may have been cancelled
			k.Stage, k.Job, k.Sent, k.Tries = paper.StageSending, 0, s.Real(), k.Tries+1
		}
	}); err != nil || k.Stage != paper.StageSending {
		return true, err
	}
	d.Name = k.name()
	made := func(job int) error {
		_, err := s.change(k.ID, func(k *kept) { k.Job = job })
		return err
	}
	job, err := s.Link.Send(ctx, p.at(), d, made)
	refusal, lost := (*paper.Refusal)(nil), (*paper.Lost)(nil)
	switch {
	case err == nil:
		_, err = s.change(k.ID,
			func(k *kept) { k.Stage, k.Job, k.Troubles, k.Message = paper.StageQueued, job, nil, "" })
		return true, err
	case errors.As(err, &lost):
		return false, nil // it is looked for
	}
	if job != 0 { // it waits for a document that does not come
		if cerr := s.Link.Cancel(ctx, p.at(), job); cerr != nil {
			s.Log.Debug("an empty job is left at the printer", "printer", p.Name, "err", cerr)
		}
	}
	answered = errors.As(err, &refusal)
	_, err = s.change(k.ID, func(k *kept) {
		k.Stage, k.Job = paper.StageWaiting, 0
		switch {
		case answered && !refusal.Trouble.Passing():
			k.fail(refusal.Trouble, refusal.Message)
		case answered:
			k.Troubles, k.Message = []paper.Trouble{refusal.Trouble}, refusal.Message
		default:
			k.Troubles, k.Message = []paper.Trouble{paper.TroubleOff}, ""
		}
	})
	return false, err
}

// search looks for a document that went out, perhaps, and of which no number is known.
// One that the printer, which has run all the time, does not know so soon after did not
// arrive, and is sent again.
func (s *Printers) search(ctx context.Context, p *printer, k *kept) (answered bool, err error) {
	job, err := s.Link.Find(ctx, p.at(), k.name())
	if err != nil {
		return s.silent(k, err)
	}
	now := s.Real().Sub(k.Sent)
	how, err := s.Link.Ask(ctx, p.at())
	if err != nil {
		return s.silent(k, err)
	}
	_, err = s.change(k.ID, func(k *kept) {
		switch {
		case job != 0:
			k.Stage, k.Job = paper.StageQueued, job
		case now < remembers && time.Duration(how.Up)*time.Second > now+time.Second:
			k.Stage = paper.StageWaiting
		default:
			k.Stage, k.Troubles = paper.StageUnsure, nil
		}
	})
	return true, err
}

// look asks how a document is at its printer.
func (s *Printers) look(ctx context.Context, p *printer, k *kept) (answered bool, err error) {
	is, err := s.Link.Look(ctx, p.at(), k.Job, k.name())
	if err != nil {
		return s.silent(k, err)
	}
	_, err = s.change(k.ID, func(k *kept) {
		k.Stage, k.Troubles, k.Message = is.Stage, is.Troubles, is.Message
		k.Sheets = max(k.Sheets, is.Sheets)
	})
	return true, err
}

// silent notes that a printer does not answer, or answers with a no.
func (s *Printers) silent(k *kept, why error) (answered bool, err error) {
	trouble := paper.TroubleOff
	if r := (*paper.Refusal)(nil); errors.As(why, &r) {
		trouble = r.Trouble
	}
	_, err = s.change(k.ID, func(k *kept) { k.Troubles, k.Message = []paper.Trouble{trouble}, "" })
	return false, err
}

func (k *kept) fail(t paper.Trouble, message string) {
	k.Stage, k.Troubles, k.Message = paper.StageFailed, []paper.Trouble{t}, message
}

// sentence says what went wrong in a language.
func sentence(language string, err error) string {
	if e := (*traveler.Error)(nil); errors.As(err, &e) {
		return e.Say.Text(language)
	}
	return err.Error()
}

// draw makes the document of what was asked for, as it is now.
func (s *Printers) draw(k *kept) (*paper.Document, error) {
	wide, high, ok := paper.SizeOf(k.Size)
	if !ok {
		return nil, traveler.Invalid("size", "web.paper")
	}
	var b bytes.Buffer
	var err error
	switch k.Kind {
	case kindTest:
		err = s.drawTest(&b, k)
	case kindLabel:
		err = s.drawLabels(&b, k)
	default:
		err = s.drawCards(&b, k)
	}
	if err != nil {
		return nil, err
	}
	return &paper.Document{By: k.By, PDF: b.Bytes(), Wide: wide, High: high}, nil
}

// drawTest draws a page that shows whether a printer prints as it should: the scanner test
// card, or a label of that size.
func (s *Printers) drawTest(b *bytes.Buffer, k *kept) error {
	now := s.Time().In(s.Zone)
	if slices.Contains(paper.LabelSizes, k.Size) {
		p := paper.Printed{URL: s.PublicURL, Printed: now}
		p.Batch.Card, p.Batch.Order, p.Batch.Part = "TEST", kindTest, kindTest
		return s.PrintLabels(b, []paper.Label{{Printed: p, Kind: paper.LabelKinds[0]}}, k.Size, k.Language)
	}
	size := k.Size
	if size == "A4x2" {
		size = "A4"
	}
	return s.PrintSheet(b, paper.Sheet{Kind: "scanner", Size: size, Printed: now}, k.Language)
}

// drawLabels draws the labels of a kind for each batch.
func (s *Printers) drawLabels(b *bytes.Buffer, k *kept) error {
	var all []paper.Label
	for _, code := range k.Cards {
		f, i, err := s.FamilyOf(string(code))
		if err != nil {
			return err
		}
		p := paper.PrintedOf(s.Desk, f, i, s.PublicURL, s.Time().In(s.Zone))
		all = append(all, paper.LabelsOf(&p, s.Desk.Shop(), f, i, k.Label)...)
	}
	return s.PrintLabels(b, all, k.Size, k.Language)
}

func (s *Printers) drawCards(b *bytes.Buffer, k *kept) error {
	var cards []paper.Printed
	for _, code := range k.Cards {
		f, i, err := s.FamilyOf(string(code))
		if err != nil {
			return err
		}
		cards = append(cards, paper.PrintedOf(s.Desk, f, i, s.PublicURL, s.Time().In(s.Zone)))
	}
	return s.Print(b, cards, k.Size, k.Language)
}

// title names a document for people: the works order of its first batch, and how many
// more there are.
func (s *Printers) title(k *kept) string {
	if k.Kind == kindTest {
		return kindTest
	}
	var names []string
	for _, code := range k.Cards {
		name := string(code)
		if f, i, err := s.FamilyOf(name); err == nil && f.Batches[i].Order != "" {
			name = f.Batches[i].Order
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
		if len(names) == 3 {
			break
		}
	}
	out := ""
	for i, n := range names {
		if i > 0 {
			out += ", "
		}
		out += n
	}
	if len(k.Cards) > len(names) {
		out += " …"
	}
	return out
}
