package oldlog

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"tallywalk/traveler"
)

// tidy leaves out what cannot be taken, puts the rest in order of its start, and
// notes what is odd.
func tidy(rows []Row, o *Options, odd *Oddities) []Row {
	out := make([]Row, 0, len(rows))
	seen := map[string]int{}
	last := time.Time{}
	for _, r := range rows {
		var found Oddities
		ok := mend(&r, o.Now, &found)
		key := r.says()
		if ok && seen[key] > 0 && !o.Duplicates {
			odd.Add(Twice, r.Line)
			continue
		}
		r.key = key
		if n := seen[key]; ok && n > 0 {
			odd.Add(TwiceKept, r.Line)
			r.key += " " + strconv.Itoa(n)
		}
		for _, x := range found.list {
			odd.Add(x.What, r.Line)
		}
		if !ok {
			continue
		}
		seen[key]++
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
	switch {
	case r.Kind == Setup && r.counted() > 0:
		note(SetupPieces)
	case r.Kind == Stop && r.counted() > 0:
		note(StopPieces)
		r.Good, r.Scrap, r.Rework, r.Review = 0, 0, 0, 0
	}
	return true
}

// says is all that a row says.
func (r *Row) says() string {
	return fmt.Sprintf("%q %q %q %q %q %s %d %d %d %d %d %d", r.Batch, r.Operation, r.Machine, r.Person,
		r.Reason, r.Kind,
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
	said           bool     // the log says how many there were
	ops            []string // as they were first done
}

// jobs sorts rows by batch, the batches by their first start.
func jobs(rows []Row, apart bool, odd *Oddities) []*job {
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
		j.place(odd)
		j.order(odd)
		j.amount(apart)
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
	j.rows = append(j.rows, r)
}

// place finds the operation of stops: a breakdown is at what the batch was doing
// on that machine, whatever its row calls it.
func (j *job) place(odd *Oddities) {
	for i := range j.rows {
		r := &j.rows[i]
		if r.Kind != Stop ||
			slices.ContainsFunc(j.rows,
				func(x Row) bool { return x.Kind != Stop && x.Operation == r.Operation }) {
			continue
		}
		at := -1
		for k := range j.rows {
			if x := &j.rows[k]; x.Kind != Stop && x.Machine == r.Machine &&
				(at < 0 || !x.Start.After(r.Start)) {
				at = k
			}
		}
		if at >= 0 {
			odd.Add(StopPlace, r.Line)
			r.Operation = j.rows[at].Operation
		}
	}
}

// order lists the operations as they were first done.
func (j *job) order(odd *Oddities) {
	for i := range j.rows {
		r := &j.rows[i]
		switch k := slices.Index(j.ops, r.Operation); {
		case k < 0:
			j.ops = append(j.ops, r.Operation)
		case k < len(j.ops)-1:
			odd.Add(AgainstRoute, r.Line)
		}
	}
}

// amount is how many pieces the batch had: as the log says, else the most that
// were counted at an operation, in one pass of it if passes lie apart.
func (j *job) amount(apart bool) {
	if j.said = j.pieces > 0; j.said {
		return
	}
	at, lost := map[string]int{}, 0
	for i := range j.rows {
		r := &j.rows[i]
		if apart && i > 0 && j.rows[i-1].Operation != r.Operation {
			at[r.Operation] = 0
		}
		at[r.Operation] += r.counted()
		lost += r.Scrap
		j.pieces = max(j.pieces, at[r.Operation], lost)
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
