package paper

import (
	"cmp"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Label is a batch as a label for one of its boxes says it.
type Label struct {
	Printed
	Kind       string // box, review, rework, scrap, delivery or outside
	Pieces     int    // 0 = to be written by hand
	Operation  traveler.Op
	WorkCentre traveler.WorkCentre
	Reason     string // in the shop's words
}

// LabelKinds are the kinds of labels, LabelSizes the sizes in mm; 62 is a roll.
var (
	LabelKinds = []string{"box", "review", "rework", "scrap", "delivery", "outside"}
	LabelSizes = []string{"100x50", "100x150", "62"}
)

// LabelsOf says what the labels of a kind are for a batch as it stands: one for each
// reason at each operation for pieces that were set aside, one for all else. Where the
// record knows of no such pieces, one is left to be filled in by hand.
func LabelsOf(p *Printed, shop *traveler.Shop, f *story.Family, i int, kind string) []Label {
	l := Label{Printed: *p, Kind: kind}
	switch kind {
	case "review", "rework", "scrap":
		if all := asideLabels(l, shop, f, i); len(all) > 0 {
			return all
		}
		return []Label{l}
	case "outside":
		if k := slices.IndexFunc(l.Route.Operations, func(o traveler.Operation) bool {
			return o.Outside() && o.Number >= f.NextOp(i)
		}); k >= 0 {
			l.Operation, l.WorkCentre = l.Route.Operations[k].Number, l.Route.Operations[k].WorkCentre
		}
		l.Pieces = f.Sum(i).ToDo
	case "delivery":
		l.Pieces = f.Sum(i).Good
	default:
		l.Operation = f.NextOp(i)
		l.WorkCentre = centreOf(&l.Route, l.Operation)
		l.Pieces = l.Batch.Started
	}
	return []Label{l}
}

// asideLabels makes a label for each reason for which pieces were set aside at an
// operation.
func asideLabels(l Label, shop *traveler.Shop, f *story.Family, i int) (all []Label) {
	for k := range f.Visits {
		v := &f.Visits[k]
		if v.Batch != i {
			continue
		}
		for _, x := range v.Losses {
			if x.Outcome != l.Kind {
				continue
			}
			at := slices.IndexFunc(all, func(o Label) bool {
				return o.Operation == v.Operation && o.Reason == reasonText(shop, l.Kind, x.Reason, &l)
			})
			if at < 0 {
				n := l
				n.Operation, n.WorkCentre = v.Operation, centreOf(&l.Route, v.Operation)
				n.Reason, n.Pieces = reasonText(shop, l.Kind, x.Reason, &l), 0
				all, at = append(all, n), len(all)
			}
			all[at].Pieces += x.N
		}
	}
	return all
}

func reasonText(shop *traveler.Shop, kind, code string, l *Label) string {
	for _, r := range shop.Reasons(kind, l.Printed.Printed) {
		if r.Code == code {
			return cmp.Or(r.Text, code)
		}
	}
	return code
}

func centreOf(r *traveler.Route, op traveler.Op) traveler.WorkCentre {
	for i := range r.Operations {
		if r.Operations[i].Number == op {
			return r.Operations[i].WorkCentre
		}
	}
	return ""
}
