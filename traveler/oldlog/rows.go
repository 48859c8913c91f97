package oldlog

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"tallywalk/traveler"
)

// tidy leaves out what cannot be taken, puts the rest in order of its start, and
// notes what is odd.
func tidy(rows []Row, now time.Time, odd *Oddities) []Row {
	out := make([]Row, 0, len(rows))
	seen := map[string]bool{}
	last := time.Time{}
	for _, r := range rows {
		var found Oddities
		ok := mend(&r, now, &found)
		key := r.key()
		if ok && seen[key] {
			odd.Add(Twice, r.Line)
			continue
		}
		for _, x := range found.list {
			odd.Add(x.What, r.Line)
		}
		if !ok {
			continue
		}
		seen[key] = true
		if r.Start.Before(last) {
			odd.Add(Unordered, r.Line)
		}
		last = r.Start
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Row) int {
		return cmp.Or(a.Start.Compare(b.Start), a.End.Compare(b.End), cmp.Compare(a.Line, b.Line))
	})
	return out
}

// mend makes of a row what can be made of it; false leaves it out.
func mend(r *Row, now time.Time, odd *Oddities) bool {
	note := func(what string) bool {
		odd.Add(what, r.Line)
		return false
	}
	r.Batch, r.Part, r.PartName = short(r.Batch), cmp.Or(short(r.Part), "log"), short(r.PartName)
	r.Operation, r.Machine = clip(r.Operation, traveler.MaxText), machineName(r.Machine)
	r.Person, r.Reason = short(r.Person), short(r.Reason)
	switch {
	case r.Batch == "":
		return note(NoBatch)
	case r.Operation == "" && r.Machine == "":
		return note(NoPlace)
	case r.Start.IsZero() && r.End.IsZero():
		return note(NoTime)
	}
	if r.Operation == "" {
		note(NoOperation)
		r.Operation = r.Machine
	}
	if r.Machine == "" {
		note(NoMachine)
		r.Machine = machineName(r.Operation)
	}
	switch {
	case r.Start.IsZero():
		note(NoStart)
		r.Start = r.End
	case r.End.IsZero():
		note(NoEnd)
		r.End = r.Start
	case r.End.Before(r.Start):
		note(Backward)
		r.End = r.Start
	case r.End.Equal(r.Start):
		note(Zero)
	}
	switch {
	case r.Start.Year() < 2000:
		return note(Ancient)
	case r.End.After(now):
		return note(Future)
	}
	for _, n := range []*int{&r.Good, &r.Scrap, &r.Rework, &r.Review, &r.Pieces} {
		if *n > traveler.MaxPieces {
			note(TooMany)
			*n = 0
		}
	}
	if r.Kind == Setup && r.counted() > 0 {
		note(SetupPieces)
	}
	return true
}

// key is all that a row says.
func (r *Row) key() string {
	return fmt.Sprintf("%q %q %q %q %q %s %d %d %d %d %d %d", r.Batch, r.Operation, r.Machine, r.Person, r.Reason, r.Kind,
		r.Start.UnixMilli(), r.End.UnixMilli(), r.Good, r.Scrap, r.Rework, r.Review)
}

func short(s string) string { return clip(s, traveler.MaxShort) }

// clip makes a text one that can be kept: one line, no control characters, not
// too long.
func clip(s string, most int) string {
	s = strings.Join(strings.Fields(s), " ")
	s = strings.Map(func(r rune) rune {
		if r == unicode.ReplacementChar || !traveler.CleanText(string(r), 1) {
			return -1
		}
		return r
	}, s)
	if r := []rune(s); len(r) > most {
		s = string(r[:most])
	}
	return strings.TrimSpace(s)
}

// machineName makes a short name of a machine: without the slash that would
// stand for an operation, and not one that reads as a printed code or is the
// office's.
func machineName(s string) string {
	s = short(strings.ReplaceAll(s, "/", "-"))
	if _, code := traveler.ParseCode(s); code || strings.EqualFold(s, traveler.Office) {
		return short("machine " + s)
	}
	return s
}

// job is the rows of one batch, in order.
type job struct {
	batch          string
	part, partName string
	rows           []Row
	pieces         int
	ops            []string // as they were first done
}

// jobs sorts rows by batch, the batches by their first start.
func jobs(rows []Row, odd *Oddities) []*job {
	var out []*job
	by := map[string]*job{}
	for _, r := range rows {
		j := by[r.Batch]
		if j == nil {
			j = &job{batch: r.Batch, part: r.Part, partName: r.PartName}
			by[r.Batch] = j
			out = append(out, j)
		}
		j.add(r, odd)
	}
	for _, j := range out {
		j.amount()
	}
	return out
}

func (j *job) add(r Row, odd *Oddities) {
	if r.Part != j.part {
		odd.Add(OtherPart, r.Line)
	}
	if j.pieces != 0 && r.Pieces != 0 && r.Pieces != j.pieces {
		odd.Add(OtherPieces, r.Line)
	}
	j.pieces = max(j.pieces, r.Pieces)
	for i := range j.rows {
		if o := &j.rows[i]; r.Start.Before(o.End) && o.Start.Before(r.End) {
			odd.Add(Overlap, r.Line)
			break
		}
	}
	switch i := slices.Index(j.ops, r.Operation); {
	case i < 0:
		j.ops = append(j.ops, r.Operation)
	case i < len(j.ops)-1:
		odd.Add(AgainstRoute, r.Line)
	}
	j.rows = append(j.rows, r)
}

// amount is how many pieces the batch had: as the log says, else the most that
// were counted at an operation.
func (j *job) amount() {
	if j.pieces > 0 {
		return
	}
	at := map[string]int{}
	for i := range j.rows {
		at[j.rows[i].Operation] += j.rows[i].counted()
		j.pieces = max(j.pieces, at[j.rows[i].Operation])
	}
	j.pieces = min(max(1, j.pieces), traveler.MaxPieces)
}

// end is the last end of a batch's rows.
func (j *job) end() time.Time {
	t := j.rows[0].End
	for i := range j.rows {
		if e := j.rows[i].End; e.After(t) {
			t = e
		}
	}
	return t
}
