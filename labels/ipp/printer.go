package ipp

import (
	"context"
	"errors"
	"slices"

	"tallywalk/traveler/paper"
)

// Operations (RFC 8011, 5.4.15).
const (
	opPrintJob      = 0x0002
	opValidateJob   = 0x0004
	opCreateJob     = 0x0005
	opSendDocument  = 0x0006
	opCancelJob     = 0x0008
	opGetJob        = 0x0009
	opGetJobs       = 0x000a
	opGetPrinter    = 0x000b
	pdfType         = "application/pdf"
	printerStopped  = 5 // printer-state (RFC 8011, 5.4.11)
	mostJobsLooked  = 500
	scalingNone     = "none"
	oneSided        = "one-sided"
	requestedByName = "requesting-user-name"
)

// asked are the attributes of a printer that are asked for.
var asked = []string{
	"printer-make-and-model", "printer-location", "printer-state", "printer-state-reasons",
	"printer-state-message",
	"printer-is-accepting-jobs", "printer-up-time", "document-format-supported", "media-supported",
	"media-ready",
	"operations-supported", "print-scaling-supported", "sides-supported",
}

// printer is what a printer says, with what only this package needs.
type printer struct {
	paper.Printer
	operations []int
	scaling    []string
	sides      []string
}

func (p *printer) does(operation int) bool { return slices.Contains(p.operations, operation) }

// Ask asks a printer what it is and how it is. It fails with a paper.Refusal, with
// ErrAnswer when what answers is no printer, and as the network does.
func (c *Client) Ask(ctx context.Context, at paper.Address) (*paper.Printer, error) {
	t, err := c.target(at)
	if err != nil {
		return nil, err
	}
	p, err := c.ask(ctx, t)
	if err != nil {
		return nil, sorted(err)
	}
	return &p.Printer, nil
}

func (c *Client) ask(ctx context.Context, t *target) (*printer, error) {
	m, _, err := c.call(ctx, t, opGetPrinter,
		[]attribute{texts("requested-attributes", tagKeyword, asked...)}, nil, nil)
	if err != nil {
		return nil, err
	}
	g := m.first(groupPrinter)
	return &printer{
		Printer: paper.Printer{
			Model: g.text("printer-make-and-model"), Location: g.text("printer-location"),
			Formats: g.texts("document-format-supported"),
			Media:   mediaOf(g.texts("media-supported")), Ready: mediaOf(g.texts("media-ready")),
			Stopped:  g.number("printer-state", 0) == printerStopped,
			Accepts:  g.is("printer-is-accepting-jobs", true),
			Troubles: troublesOf(g.texts("printer-state-reasons")), Message: g.text("printer-state-message"),
			Up: g.number("printer-up-time", 0), Key: t.key,
		},
		operations: g.numbers("operations-supported"), scaling: g.texts("print-scaling-supported"),
		sides: g.texts("sides-supported"),
	}, nil
}

// sorted makes a refusal of a certificate that has changed; the transport wraps it.
func sorted(err error) error {
	if errors.Is(err, ErrKey) {
		return &paper.Refusal{Trouble: paper.TroubleKey}
	}
	return err
}
