package ipp

import (
	"context"

	"tallywalk/traveler/paper"
)

// Validate asks a printer itself whether it takes a PDF on a paper.
func Validate(ctx context.Context, c *Client, at paper.Address, media string) error {
	t, err := c.target(at)
	if err != nil {
		return err
	}
	_, _, err = c.call(ctx, t, opValidateJob, []attribute{
		boolean("ipp-attribute-fidelity", true), texts("document-format", tagMedia, pdfType),
	}, []attribute{texts("media", tagKeyword, media)}, nil)
	return err
}
