package people

import (
	"context"
	"slices"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// TakeScans hands scans to a desk, people by number in place of the code of
// their badge: no code goes into the record. A scan that is there already, as
// it was kept before that was so, is answered again all the same. It fails as
// the desk does.
func TakeScans(
	ctx context.Context, d story.Desk, t story.Tables, said []story.Said,
) ([]story.Answer, error) {
	return TakeSent(ctx, d, NewBadges(t), said, said)
}

// TakeSent hands scans on as TakeScans does, and fails as it does; sent is what
// they were as they were sent, the same number of them.
func TakeSent(
	ctx context.Context, d story.Desk, b *Badges, said, sent []story.Said,
) ([]story.Answer, error) {
	kept := slices.Clone(said)
	for i := range kept {
		s := &kept[i].Scan
		if code, ok := BadgeCode(string(s.Operator)); ok && b.Owner(code) != "" {
			s.Operator = b.Owner(code)
		}
		s.Note, s.Reason = b.Text(s.Note), b.Text(s.Reason)
		s.Measured = slices.Clone(s.Measured)
		for k := range s.Measured {
			s.Measured[k].Dimension = b.Text(s.Measured[k].Dimension)
		}
		s.Scrap, s.Rework, s.Review = b.losses(s.Scrap), b.losses(s.Rework), b.losses(s.Review)
	}
	answers, err := d.Scans(ctx, kept)
	if err != nil {
		return nil, err
	}
	for i := range answers {
		if !clashes(&answers[i]) {
			continue
		}
		if answers[i], err = asBefore(ctx, d, b, &kept[i], &sent[i], answers[i]); err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// clashes reports whether the id of a scan is that of another.
func clashes(a *story.Answer) bool { return traveler.KindOf(a.Err) == traveler.KindConflict }

// asBefore looks for a scan as it was kept by an earlier version: with the code
// of a badge, or with a device as it was sent. Its id is there, so nothing new
// is kept.
func asBefore(
	ctx context.Context, d story.Desk, b *Badges, kept, sent *story.Said, was story.Answer,
) (story.Answer, error) {
	operators := []traveler.PersonID{kept.Scan.Operator, sent.Scan.Operator}
	for _, code := range b.codes(kept.Scan.Operator) {
		operators = append(operators, traveler.PersonID(code),
			traveler.PersonID(strings.ToLower(string(code))))
	}
	for _, device := range []traveler.DeviceID{kept.Scan.Device, sent.Scan.Device} {
		for _, who := range operators {
			try := *sent
			try.Scan.Device, try.Scan.Operator = device, who
			answers, err := d.Scans(ctx, []story.Said{try})
			if err != nil {
				return was, err
			}
			if !clashes(&answers[0]) {
				return answers[0], nil
			}
		}
	}
	return was, nil
}
