package main

import (
	"cmp"
	"fmt"
	"io"
	"time"

	"tallywalk/kiosk"
	"tallywalk/labels"
	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/study"
	"tallywalk/web"
)

// printing writes job cards, and remembers that the public URL is on paper now.
func (hs *house) printing(set settings) func(w io.Writer, cards []paper.Printed,
	paper, language string) error {
	return func(w io.Writer, cards []paper.Printed, paper, language string) error {
		if err := writeCards(w, cards, paper, language); err != nil {
			return err
		}
		return hs.printed(set)
	}
}

// printed remembers that the public URL is on paper.
func (hs *house) printed(set settings) error {
	now, err := hs.settings()
	if err != nil || now.Printed && (now.TLSPrinted || !set.TLS) {
		return err
	}
	set.Printed, set.TLSPrinted = true, set.TLS || now.TLSPrinted
	return hs.keep(set)
}

// printingBook writes job cards as printing does, asking for each when it comes to it.
func (hs *house) printingBook(set settings) func(io.Writer, int, func(int) (paper.Printed, error), string,
	string) error {
	return func(w io.Writer, n int, card func(int) (paper.Printed, error), size, language string) error {
		p, err := labels.ParsePaper(size)
		if err != nil {
			return err
		}
		err = labels.WriteManyCards(w, n, func(i int) (labels.Card, error) {
			c, err := card(i)
			if err != nil {
				return labels.Card{}, err
			}
			return labelOf(&c), nil
		}, p, labels.In(language))
		if err != nil {
			return err
		}
		return hs.printed(set)
	}
}

// printLabels writes labels, all of one size.
func printLabels(w io.Writer, all []paper.Label, size, language string) error {
	z, err := labels.ParseLabelSize(size)
	if err != nil {
		return err
	}
	out := make([]labels.Label, len(all))
	for i := range all {
		l, b := &all[i], &all[i].Batch
		out[i] = labels.Label{
			Kind: labels.LabelKind(l.Kind), Code: string(b.Card), URL: l.URL, WorksOrder: b.Order,
			Part: b.Part, PartName: b.Name,
			DrawingRev: b.Drawing, Customer: b.Customer, OrderLine: b.Line, Parent: string(b.Parent),
			Lots: b.Lots, Pieces: l.Pieces,
			Operation: int(l.Operation), WorkCentre: string(l.WorkCentre), Reason: l.Reason,
			Printed: l.Printed.Printed,
		}
	}
	return labels.WriteLabels(w, out, z, labels.In(language))
}

func writeCards(w io.Writer, cards []paper.Printed, paper, language string) error {
	p, err := labels.ParsePaper(paper)
	if err != nil {
		return err
	}
	out := make([]labels.Card, len(cards))
	for i := range cards {
		out[i] = labelOf(&cards[i])
	}
	return labels.WriteCards(w, out, p, labels.In(language))
}

func labelOf(c *paper.Printed) labels.Card {
	b := &c.Batch
	out := labels.Card{
		Code: string(b.Card), URL: c.URL, WorksOrder: b.Order, Part: b.Part, PartName: b.Name,
		DrawingRev: b.Drawing, RouteRev: b.Rev,
		Material: c.Route.Material, MaterialLots: b.Lots, Customer: b.Customer, OrderLine: b.Line,
		Pieces: b.Started, Wanted: b.Wanted,
		Due: b.Due, Priority: b.Priority, Hot: b.Hot, Printed: c.Printed, HeadHash: c.Head,
	}
	for _, o := range c.Route.Operations {
		if o.Number < b.First {
			continue // done under the card it was split from
		}
		out.Operations = append(out.Operations, labels.CardOperation{
			Number: int(o.Number), WorkCentre: string(o.WorkCentre), Instruction: o.Instruction,
			SetupMin: o.SetupMin, CycleMin: o.CycleMin,
			PiecesPerCycle: o.PiecesPerCycle, Clampings: o.Clampings, FirstOff: o.FirstOff,
			Outside: o.Outside(), OutsideDays: o.OutsideDays,
		})
	}
	return out
}

// printSheet writes the sheets that hang in the shop.
func printSheet(w io.Writer, s paper.Sheet, language string) error {
	texts := labels.In(language)
	switch s.Kind {
	case "scanner":
		size, err := labels.ParsePaper(s.Size)
		if err != nil {
			return err
		}
		return labels.WriteTestCard(w, size, s.Printed, texts)
	case "badges":
		if len(s.People) == 0 {
			return traveler.Fail(traveler.KindNotFound, "sheet.people")
		}
		var badges []labels.Badge
		for _, p := range s.People {
			badges = append(badges,
				labels.Badge{Code: string(p.Code), Name: p.Name, Role: texts.Role(string(p.Role))})
		}
		return labels.WriteBadges(w, badges, s.Printed, texts)
	case "plates":
		if len(s.Machines) == 0 {
			return traveler.Fail(traveler.KindNotFound, "sheet.machines")
		}
		var plates []labels.Plate
		for _, m := range s.Machines {
			plates = append(plates,
				labels.Plate{Code: string(m.Code), Name: string(m.ID) + " " + m.Name,
					WorkCentre: string(m.WorkCentre), Place: texts.Place(m.Kind)})
		}
		return labels.WriteMachinePlates(w, plates, s.Printed, texts)
	case "trust":
		return labels.WriteTrustSheet(w, s.URL, s.Fingerprint, s.Printed, texts)
	case "devices":
		if len(s.Devices) == 0 {
			return traveler.Fail(traveler.KindNotFound, "sheet.devices")
		}
		devices := make([]labels.Device, len(s.Devices))
		for i, d := range s.Devices {
			devices[i] = labels.Device(d)
		}
		return labels.WriteDeviceSheet(w, devices, s.URL, s.Printed, texts)
	case "actions":
		return labels.WriteActionSheet(w, string(s.Machine.ID)+" "+s.Machine.Name,
			actionGroups(s.Reasons, language), s.Printed, texts)
	}
	return fmt.Errorf("no sheet %q", s.Kind)
}

// actionGroups are the codes of an action sheet in a language; the shop's own reasons
// stay as they are, after what they are reasons for.
func actionGroups(reasons []traveler.Reason, language string) []labels.ActionGroup {
	words, texts := web.StationWords(language), labels.In(language)
	var out []labels.ActionGroup
	for _, g := range kiosk.Sheet(reasons) {
		group := labels.ActionGroup{Title: texts[g.Key]}
		for _, c := range g.Codes {
			word := cmp.Or(words[c.Key], c.Word)
			if c.Name == "why" {
				word += ": " + c.Word
			}
			group.Actions = append(group.Actions, labels.ActionCode{Code: string(c.Code), Word: word})
		}
		out = append(out, group)
	}
	return out
}

// printComparison writes routes side by side on one A4 page.
func printComparison(w io.Writer, v *study.Comparison, name string, at time.Time, language string) error {
	return labels.WriteComparison(w, v, name, at, labels.In(language))
}
