package floor

import (
	"bytes"
	"io"
	"slices"
	"sort"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// paperRoutes are what is printed of batches.
func (s *room) paperRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/batches/:code/label.pdf", Deed: traveler.DeedLook,
			Handle: s.getLabel,
			Does:   "labels for boxes of a batch: a split lot, pieces set aside, a delivery, outside work",
			Params: []ask.Param{
				ask.Text("code", "the batch's code, or its works order number"),
				ask.Choice("kind", "what is in the box", paper.LabelKinds...),
				ask.Choice("size", "mm; 62 is a roll", paper.LabelSizes...),
				ask.Whole("pieces", "in the box; as the record has it, if left out"),
				ask.Tongue(),
			},
			Gives: []string{ask.MediaPDF},
		},
		{
			Method: "GET", Path: "/api/v1/cards.pdf", Deed: traveler.DeedRelease, Handle: s.getBook,
			Does: "the cards of all open batches, in the order of their works orders",
			More: "Written as it is drawn: the header Tallywalk-Cards says how many there are, " +
				`and comments of the PDF ("%cards 100") how many are done.`,
			Params: []ask.Param{ask.Choice("paper", "A5, A4 or two on an A4 sheet", "A5", "A4", "A4x2"),
				ask.Tongue()},
			Gives: []string{ask.MediaPDF},
		},
	}
}

const mostInBox = 1_000_000 // pieces

// getLabel prints labels of a batch.
func (s *room) getLabel(c *fiber.Ctx) error {
	f, i, err := s.FamilyOf(ask.PathParam(c, "code"))
	if err != nil {
		return err
	}
	kind, size := c.Query("kind", "box"), c.Query("size", "100x50")
	if !slices.Contains(paper.LabelKinds, kind) {
		return traveler.Invalid("kind", "web.label")
	}
	if !slices.Contains(paper.LabelSizes, size) {
		return traveler.Invalid("size", "web.label-size")
	}
	p := s.Printed(f, i)
	all := paper.LabelsOf(&p, s.Desk.Shop(), f, i, kind)
	if text := c.Query("pieces"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > mostInBox {
			return traveler.Invalid("pieces", "release.pieces", strconv.Itoa(mostInBox))
		}
		all = all[:1]
		all[0].Pieces = n
	}
	var w bytes.Buffer
	if err := s.PrintLabels(&w, all, size, ask.Language(c)); err != nil {
		return err
	}
	return sendPDF(c, &w, string(f.Batches[i].Card)+" "+kind)
}

// getBook prints the cards of all open batches as they are drawn.
func (s *room) getBook(c *fiber.Ctx) error {
	size := c.Query("paper", "A5")
	if !slices.Contains(cardSizes, size) {
		return traveler.Invalid("paper", "web.paper")
	}
	type open struct {
		order string
		card  traveler.Code
	}
	var all []open
	s.Desk.Open(func(f *story.Family) bool {
		for i := range f.Batches {
			if state := f.State(i); state != story.StateDone && state != story.StateCancelled {
				all = append(all, open{f.Batches[i].Order, f.Batches[i].Card})
			}
		}
		return true
	})
	if len(all) == 0 {
		return traveler.Fail(traveler.KindNotFound, "sheet.batches")
	}
	sort.Slice(all, func(i, j int) bool {
		if all[i].order != all[j].order {
			return all[i].order < all[j].order
		}
		return all[i].card < all[j].card
	})
	c.Set(fiber.HeaderContentType, ask.MediaPDF)
	c.Set(fiber.HeaderContentDisposition, `inline; filename="cards.pdf"`)
	c.Set("Tallywalk-Cards", strconv.Itoa(len(all)))
	language := ask.Language(c)
	s.Stream(c, func(w io.Writer) error {
		return s.PrintBook(w, len(all), func(k int) (paper.Printed, error) {
			f, err := s.Desk.Family(all[k].card)
			if err != nil {
				return paper.Printed{}, err
			}
			return s.Printed(f, f.Index(all[k].card)), nil
		}, size, language)
	})
	return nil
}

// cardSizes are the sizes that cards are printed in.
var cardSizes = []string{"A5", "A4", "A4x2"}
