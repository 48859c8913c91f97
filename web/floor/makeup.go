package floor

import (
	"cmp"
	"context"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// shortBatch is the batch that falls short, whose pieces a release makes up; nil where it
// makes up none. It fails as the desk does.
func (s *room) shortBatch(r *traveler.Release) (*story.Batch, error) {
	if r.MakesUp == "" {
		return nil, nil
	}
	f, err := s.Desk.Family(r.MakesUp)
	if err != nil {
		return nil, err
	}
	return &f.Batches[f.Index(r.MakesUp)], nil
}

// sameLine refuses a make-up batch that is for something else than the batch that
// falls short: the pieces of an order line are added up by works order, line and
// part.
func (s *room) sameLine(r *traveler.Release) error {
	b, err := s.shortBatch(r)
	if b == nil {
		return err
	}
	over := !b.Cancelled.IsZero() || b.Joined != ""
	if over || b.Part != r.Part || b.Order != r.WorksOrder || b.Line != r.OrderLine {
		return traveler.Invalid("makes_up", "makeup.other", string(r.MakesUp))
	}
	return nil
}

// makeUp takes what a make-up batch is to make off what is wanted of the batch that
// falls short, so that the order line wants each piece once. Said again it changes
// nothing.
func (s *room) makeUp(ctx context.Context, by traveler.Actor, r *traveler.Release, card traveler.Code) error {
	b, err := s.shortBatch(r)
	if b == nil {
		return err
	}
	if slices.Contains(b.MadeUp, card) {
		return nil
	}
	left := max(0, b.Wanted-cmp.Or(r.Wanted, r.Pieces))
	answers, err := s.Desk.Scans(ctx, []story.Said{{By: by, Scan: traveler.Scan{
		ID: traveler.IDOf("makes up " + string(r.ID)), At: s.Time().UTC(), Station: traveler.Office,
		Card:   string(r.MakesUp),
		Action: traveler.ActOverride, For: story.OverrideWanted, Pieces: left, To: string(card),
		Reason: string(card),
	}}})
	if err != nil {
		return err
	}
	return answers[0].Err
}
