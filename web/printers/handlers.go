package printers

import (
	"encoding/hex"
	"errors"
	"io"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// printersView is the printers, and what is printed by itself.
type printersView struct {
	Printers  []printerView `json:"printers"`
	OnRelease byItself      `json:"on_release"`
}

// printerView is a printer in the list.
type printerView struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	Model   string `json:"model,omitempty"`
	Address string `json:"address,omitempty"` // for administrators
}

// printerToAdd is a printer to add.
type printerToAdd struct {
	Name    string `json:"name"`
	Address string `json:"address"` // ipp://host[:port][/path], or ipps for TLS
}

// saysView is what a printer says of itself.
type saysView struct {
	Answers  bool            `json:"answers"`
	Model    string          `json:"model,omitempty"`
	Location string          `json:"location,omitempty"`
	PDF      bool            `json:"pdf"` // it takes PDF; without, nothing can be printed there
	Formats  []string        `json:"formats"`
	Sizes    []string        `json:"sizes" api:"enum=A5|A4|A4x2|100x50|100x150|62"` // of ours, that it can be given
	Media    []string        `json:"media"`                                         // as it names them
	Ready    []string        `json:"ready"`                                         // what is in it now
	Stopped  bool            `json:"stopped"`
	Troubles []paper.Trouble `json:"troubles"`          // the worst first
	Message  string          `json:"message,omitempty"` // in its own words
}

// printsView is what was sent to printers.
type printsView struct {
	Prints []printView `json:"prints"`
}

// printView is a document, and what became of it.
type printView struct {
	ID          string          `json:"id"`
	Printer     string          `json:"printer"`
	PrinterName string          `json:"printer_name,omitempty"`
	Kind        string          `json:"kind" api:"enum=card|label|test"`
	Label       string          `json:"label,omitempty" api:"enum=box|review|rework|scrap|delivery|outside"`
	Title       string          `json:"title"`
	Size        string          `json:"size"`
	Cards       []traveler.Code `json:"cards"`
	By          string          `json:"by,omitempty"` // missing = by itself, on release
	Asked       time.Time       `json:"asked"`
	Ended       *time.Time      `json:"ended,omitempty"`
	Stage       paper.Stage     `json:"stage"`
	Troubles    []paper.Trouble `json:"troubles"` // the worst first
	Message     string          `json:"message,omitempty"`
	Sheets      int             `json:"sheets,omitempty"` // that have come out, as the printer counts
	Tries       int             `json:"tries"`
}

// wantedPrint is something to print.
type wantedPrint struct {
	ID       traveler.ScanID `json:"id" api:"format=uuid"`
	Printer  string          `json:"printer"`
	Kind     string          `json:"kind" api:"enum=card|label|test"`
	Label    string          `json:"label,omitempty" api:"enum=box|review|rework|scrap|delivery|outside"` // of a label
	Cards    []traveler.Code `json:"cards,omitempty" api:"items=0-1000"`
	Size     string          `json:"size" api:"enum=A5|A4|A4x2|100x50|100x150|62"`
	Language string          `json:"language,omitempty" api:"enum=en|de|es|pl|tr"`
}

// printDeedBody is what to do with a document.
type printDeedBody struct {
	Do string `json:"do" api:"enum=cancel|again|there"` // there: of an unsure one, it came out
}

const mostCards = 1000 // of one document

// list answers with the printers.
func (s *Printers) list(c *fiber.Ctx) error {
	all, err := s.printers()
	if err != nil {
		return err
	}
	how, err := s.byItself()
	if err != nil {
		return err
	}
	v := printersView{Printers: []printerView{}, OnRelease: how}
	for i := range all {
		v.Printers = append(v.Printers, viewOf(c, &all[i]))
	}
	return c.JSON(v)
}

func viewOf(c *fiber.Ctx, p *printer) printerView {
	v := printerView{ID: p.ID, Name: p.Name, Model: p.Model}
	if traveler.May(door.Who(c).Role, traveler.DeedAccounts) {
		v.Address = p.Address
	}
	return v
}

// postPrinter adds a printer that answers.
func (s *Printers) postPrinter(c *fiber.Ctx) error {
	var in printerToAdd
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if in.Name == "" || !traveler.CleanText(in.Name, 60) {
		return traveler.Invalid("name", "web.name")
	}
	if s.Link == nil {
		return traveler.Invalid("address", "printer.none")
	}
	says, err := s.Link.Ask(c.Context(), paper.Address{URI: in.Address})
	if err != nil {
		return s.refused(c, in.Address, err)
	}
	id := make([]byte, 8)
	if _, err := io.ReadFull(s.Rand, id); err != nil {
		return err
	}
	p := printer{
		ID: hex.EncodeToString(id), Name: in.Name, Address: in.Address, Key: says.Key, Model: says.Model,
		Made: s.Time(), By: door.Who(c).Name,
	}
	if err := rows.Write(s.Tables, tablePrinters, p.ID, &p); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(viewOf(c, &p))
}

// refused says why nothing can be printed at an address.
func (s *Printers) refused(c *fiber.Ctx, address string, err error) error {
	s.LogOf(c).Info("a printer does not answer", "err", err)
	if r := (*paper.Refusal)(nil); errors.As(err, &r) {
		return traveler.Invalid("address", "printer.access", address)
	}
	return traveler.Invalid("address", "printer.silent", address)
}

// getPrinter asks a printer how it is.
func (s *Printers) getPrinter(c *fiber.Ctx) error {
	p, err := s.printer(ask.PathParam(c, "id"))
	if err != nil {
		return err
	}
	v := saysView{Formats: []string{}, Sizes: []string{}, Media: []string{}, Ready: []string{},
		Troubles: []paper.Trouble{}}
	if s.Link == nil {
		return c.JSON(v)
	}
	says, err := s.Link.Ask(c.Context(), p.at())
	if r := (*paper.Refusal)(nil); errors.As(err, &r) {
		v.Troubles, v.Message = []paper.Trouble{r.Trouble}, r.Message
		return c.JSON(v)
	}
	if err != nil {
		v.Troubles = []paper.Trouble{paper.TroubleOff}
		return c.JSON(v)
	}
	v.Answers, v.Model, v.Location = true, says.Model, says.Location
	v.Message, v.Stopped = says.Message, says.Stopped
	v.Formats, v.Troubles = ask.Some(says.Formats), ask.Some(says.Troubles)
	v.PDF = slices.Contains(says.Formats, ask.MediaPDF)
	v.Media, v.Ready = namesOf(says.Media), namesOf(says.Ready)
	for _, size := range paper.Sizes {
		if wide, high, _ := paper.SizeOf(size); says.Takes(wide, high) {
			v.Sizes = append(v.Sizes, size)
		}
	}
	return c.JSON(v)
}

func namesOf(all []paper.Media) []string {
	out := []string{}
	for _, m := range all {
		out = append(out, m.Name)
	}
	return out
}

// deletePrinter removes a printer.
func (s *Printers) deletePrinter(c *fiber.Ctx) error {
	p, err := s.printer(ask.PathParam(c, "id"))
	if err != nil {
		return err
	}
	if err := s.Tables.Delete(tablePrinters, p.ID); err != nil {
		return err
	}
	if how, err := s.byItself(); err == nil && how.Printer == p.ID {
		if err := rows.Write(s.Tables, tableSettings, keyPrinting, byItself{}); err != nil {
			return err
		}
	}
	s.mu.Lock()
	s.knock()
	s.mu.Unlock()
	return s.list(c)
}

// postPrinting sets what is printed by itself.
func (s *Printers) postPrinting(c *fiber.Ctx) error {
	var in byItself
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if in.Printer != "" {
		if _, err := s.printer(in.Printer); err != nil {
			return err
		}
		if !slices.Contains(paper.Sizes, in.Size) || slices.Contains(paper.LabelSizes, in.Size) {
			return traveler.Invalid("size", "web.paper")
		}
	}
	if err := rows.Write(s.Tables, tableSettings, keyPrinting, in); err != nil {
		return err
	}
	return s.list(c)
}

// getPrints lists what was sent to printers.
func (s *Printers) getPrints(c *fiber.Ctx) error {
	if r := door.Who(c).Role; !mayPrint(r) { // who printed what is not for a wall
		return traveler.Fail(traveler.KindForbidden, "web.role", string(r))
	}
	all, err := s.documents()
	if err != nil {
		return err
	}
	v := printsView{Prints: []printView{}}
	for i := len(all) - 1; i >= max(0, len(all)-mostListed); i-- {
		v.Prints = append(v.Prints, s.printView(&all[i]))
	}
	return c.JSON(v)
}

func (s *Printers) printView(k *kept) printView {
	v := printView{
		ID: k.ID, Printer: k.Printer, Kind: k.Kind, Label: k.Label, Title: k.Title, Size: k.Size,
		Cards: ask.Some(k.Cards), By: k.By,
		Asked: k.Asked, Ended: ask.Moment(k.Ended), Stage: k.Stage, Troubles: ask.Some(k.Troubles),
		Message: k.Message,
		Sheets:  k.Sheets, Tries: k.Tries,
	}
	if p, err := s.printer(k.Printer); err == nil {
		v.PrinterName = p.Name
	}
	return v
}

// postPrint keeps something to print.
func (s *Printers) postPrint(c *fiber.Ctx) error {
	var in wantedPrint
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	p := door.Who(c)
	if !mayPrint(p.Role) {
		return traveler.Fail(traveler.KindForbidden, "web.role", string(p.Role))
	}
	k, err := s.wanted(&in, ask.Language(c))
	if err != nil {
		return err
	}
	k.By = p.Name
	if err := s.add(k); err != nil {
		return err
	}
	return c.Status(fiber.StatusAccepted).JSON(s.printView(k))
}

// wanted checks what is to be printed.
func (s *Printers) wanted(in *wantedPrint, language string) (*kept, error) {
	if !in.ID.Valid() {
		return nil, traveler.Invalid("id", "form.uuid")
	}
	if _, err := s.printer(in.Printer); err != nil {
		return nil, err
	}
	if isLabel := slices.Contains(paper.LabelSizes, in.Size); isLabel != (in.Kind == kindLabel) &&
		in.Kind != kindTest {
		return nil, traveler.Invalid("size",
			map[bool]string{true: "web.paper", false: "web.label-size"}[isLabel])
	}
	if !slices.Contains(paper.Sizes, in.Size) {
		return nil, traveler.Invalid("size", "web.paper")
	}
	if in.Kind == kindLabel && !slices.Contains(paper.LabelKinds, in.Label) {
		return nil, traveler.Invalid("label", "web.label")
	}
	if in.Language != "" {
		language = in.Language
	}
	k := &kept{ID: string(in.ID), Printer: in.Printer, Kind: in.Kind, Label: in.Label, Size: in.Size,
		Language: language}
	switch {
	case in.Kind == kindTest:
		return k, nil
	case in.Kind != kindCard && in.Kind != kindLabel:
		return nil, traveler.Invalid("kind", "print.kind", in.Kind)
	case len(in.Cards) == 0 || len(in.Cards) > mostCards:
		return nil, traveler.Invalid("cards", "print.cards", "1000")
	}
	for _, code := range in.Cards {
		f, i, err := s.FamilyOf(string(code))
		if err != nil {
			return nil, err
		}
		k.Cards = append(k.Cards, f.Batches[i].Card)
	}
	return k, nil
}

// postPrintDeed does something with a document.
func (s *Printers) postPrintDeed(c *fiber.Ctx) error {
	var in printDeedBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	p := door.Who(c)
	if !mayPrint(p.Role) {
		return traveler.Fail(traveler.KindForbidden, "web.role", string(p.Role))
	}
	var bad error
	k, err := s.change(ask.PathParam(c, "id"), func(k *kept) { bad = k.do(in.Do) })
	if err := errors.Join(err, bad); err != nil {
		return err
	}
	return c.JSON(s.printView(k))
}

// do makes of a document what someone wants of it. It fails with KindConflict where that
// cannot be, since it has ended, or has not.
func (k *kept) do(what string) error {
	switch {
	case what == "cancel" && !k.Stage.Ended():
		if k.Cancel = true; k.Stage == paper.StageWaiting { // at once, though others wait before it
			k.Stage, k.Troubles = paper.StageCancelled, nil
		}
	case what == "again" && k.Stage.Ended():
		// Another job, with another name: the one before stays what it was to the printer.
		k.Stage, k.Job, k.Troubles = paper.StageWaiting, 0, nil
		k.Message, k.Sheets, k.Ended = "", 0, time.Time{}
		k.Cancel = false
	case what == "there" && k.Stage == paper.StageUnsure:
		k.Stage, k.Troubles, k.Message = paper.StageDone, nil, ""
	case what == "cancel", what == "again", what == "there":
		return traveler.Fail(traveler.KindConflict, "print.stage", string(k.Stage))
	default:
		return traveler.Invalid("do", "print.do", what)
	}
	return nil
}
