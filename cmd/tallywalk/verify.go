package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/traveler"
	"tallywalk/traveler/intake"
)

func cmdVerify(h host, args []string) error {
	f := flags(h, "verify")
	dir := dataFlag(f)
	figures := f.Bool("figures", false, "also work figures out a second, plain way from the scans")
	part := f.String("part", "", "with --figures: of this part only")
	against := f.String("against", "",
		"a copy, or scans that were exported: the record must hold all that they hold")
	var heads []string
	f.Func("head", "an end of before, `SEQ:HASH`, as backups, exports and cards say it: the record must have it; may be repeated", func(s string) error {
		heads = append(heads, s)
		_, _, err := store.ParseHead(s)
		return err
	})
	progress := f.Bool("progress", false, "say how far it is also where nobody watches a terminal")
	remake := f.Bool("remake", false, "make the ledger again from the record, while no server runs")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	if *remake {
		if len(heads) > 0 || *against != "" || *figures || *part != "" || *progress {
			return &usageError{"--remake goes with --data alone: check first, or after"}
		}
		return remakeLedger(h, *dir)
	}
	req := request{Do: "verify", Figures: *figures, Part: *part, Heads: heads,
		Progress: *progress || isTerminal(h.err)}
	if *against == "" {
		return at(h, *dir, req, nil)
	}
	head, err := headOfCopy(*against)
	if err == nil {
		req.Heads = append(req.Heads, head)
		return at(h, *dir, req, nil)
	}
	if te := (*traveler.Error)(nil); !errors.As(err, &te) || te.Say.Key != "store.foreign" {
		return err
	}
	in, err := os.Open(*against)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()
	req.Against = *against
	return at(h, *dir, req, in)
}

// headOfCopy is the end of a copy of a data file.
func headOfCopy(name string) (string, error) {
	c, err := store.OpenCopy(name)
	if err != nil {
		return "", err
	}
	return c.HeadText(), c.Close()
}

// doVerify checks the record, its ledger, and what else the request wants. What is wrong
// with the ledger is listed, since each row stands alone; of the record the first fault
// is named, since nothing can be said of what comes after it.
func (hs *house) doVerify(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	p := hs.progress(ctx, req, out)
	report, err := store.VerifyStep(hs.log, p.phase("Record"))
	if err != nil {
		return hs.broken(err)
	}
	if report.Entries == 0 {
		return errors.New(
			"the record is empty: nothing was ever kept in it, so there is nothing to check; name the folder of the shop's data")
	}
	if err := hs.verifyAgainst(req, in, out); err != nil {
		return err
	}
	fmt.Fprintf(out, "The record is whole: %d entries, %d ids, head %s.\n", report.Entries, report.IDs,
		report.HeadText())
	audit, err := desk.VerifyLedger(hs.log, p.phase("Ledger"))
	if err != nil {
		return hs.broken(err)
	}
	if err := sayAudit(out, audit); err != nil {
		return err
	}
	if !req.Figures {
		return nil
	}
	return hs.verifyFigures(req.Part, out)
}

// broken says of a record that is not whole what to do.
func (hs *house) broken(err error) error {
	if traveler.KindOf(err) != traveler.KindCorrupt || hs.file == nil {
		return err
	}
	return traveler.Fail(traveler.KindCorrupt, "store.broken", hs.file.Path(), sentence(err))
}

// verifyAgainst compares the record with ends of before, and with scans that were
// exported.
func (hs *house) verifyAgainst(req request, in io.Reader, out io.Writer) error {
	for _, text := range req.Heads {
		seq, link, err := store.ParseHead(text)
		if err != nil {
			return err
		}
		if err := store.VerifyHead(hs.log, seq, link); err != nil {
			return err
		}
	}
	if req.Against == "" {
		return nil
	}
	n, err := hs.holds(req.Against, in)
	if err == nil {
		_, err = fmt.Fprintf(out, "All %s scans of %s are in the record.\n", grouped(n), req.Against)
	}
	return err
}

// statusLedger is the exit status of a verify that found the record whole and its ledger
// not.
const statusLedger = 3

func sayAudit(out io.Writer, a *desk.Audit) error {
	for _, err := range a.Faults {
		fmt.Fprintln(out, sentence(err))
	}
	if a.More > 0 {
		fmt.Fprintf(out, "And %s more.\n", grouped(a.More))
	}
	switch n := len(a.Faults) + a.More; {
	case n > 0 && a.Lost > 0:
		return &statusError{statusLedger,
			traveler.Fail(traveler.KindCorrupt, "store.verify.lost", grouped(a.Lost))}
	case n > 0:
		return &statusError{statusLedger,
			traveler.Fail(traveler.KindCorrupt, "store.verify.ledger", grouped(n))}
	case a.Unmade:
		fmt.Fprintln(out,
			"Pieces add up in every batch. The ledger is made again when the server starts next: it is of another version, or no server has ended in order since it was made.")
		return nil
	}
	fmt.Fprintf(out,
		"Pieces add up in every batch, and the ledger is what the record comes to: %s rows compared.\n",
		grouped(a.Rows))
	if a.Stale > 0 {
		fmt.Fprintf(out,
			"%s rows were not: the shop was changed with effect from before, and a running server makes them again by itself.\n", grouped(a.Stale))
	}
	if a.Returned > 0 {
		fmt.Fprintf(out,
			"%s rows were not: their batches are on the floor again, and the rows are replaced when they leave.\n", grouped(a.Returned))
	}
	return nil
}

// remakeLedger makes the ledger again from a record that is whole.
func remakeLedger(h host, dir string) error {
	if err := needData(dir); err != nil {
		return err
	}
	file, err := store.Open(dir, store.Options{Now: h.now, Rand: h.rand, Must: true})
	if err != nil {
		return err
	}
	if err := remadeIn(h, file); err != nil {
		return errors.Join(err, file.Close())
	}
	if err := file.Close(); err != nil {
		return err
	}
	fmt.Fprintln(h.out, "The ledger was made again.")
	return at(h, dir, request{Do: "verify", Progress: isTerminal(h.err)}, nil)
}

func remadeIn(h host, file *store.File) error {
	if _, err := store.Verify(file); err != nil {
		return (&house{file: file}).broken(err)
	}
	if err := file.DropSnapshot(); err != nil {
		return err
	}
	d, err := desk.New(file, desk.Options{Now: h.now, Steady: h.steady, Rand: h.rand})
	if err != nil {
		return err
	}
	return d.Close()
}

// holds compares the scans of an export with the record, some at a time, and
// says how many there were.
func (hs *house) holds(name string, in io.Reader) (n int, err error) {
	var part []intake.Kept
	compare := func() error {
		if len(part) == 0 {
			return nil
		}
		err := hs.same(name, part)
		n, part = n+len(part), part[:0]
		return err
	}
	var fault error
	err = intake.ReadScans(name, in, func(k *intake.Kept) bool {
		if part = append(part, *k); len(part) == scansAtOnce {
			fault = compare()
		}
		return fault == nil
	})
	if err = errors.Join(fault, err); err == nil {
		err = compare()
	}
	if err == nil && n == 0 {
		err = fmt.Errorf("%s has no scans in it, so there is nothing to compare", name)
	}
	return n, err
}

func (hs *house) same(name string, part []intake.Kept) error {
	end, _ := hs.log.Head()
	seqs := make([]traveler.Seq, len(part))
	for i := range part {
		if seqs[i] = part[i].Seq; seqs[i] == 0 {
			return fmt.Errorf("%s:%d: no sequence stands here, so it cannot be compared", name, part[i].Line)
		}
		if seqs[i] > end {
			return traveler.Fail(traveler.KindCorrupt, "store.verify.cut", fmt.Sprint(end),
				fmt.Sprint(seqs[i]))
		}
	}
	entries, err := hs.log.Get(seqs)
	if err != nil {
		return err
	}
	for i, e := range entries {
		if k := &part[i]; e.ID() != k.Scan.ID || e.Outcome != k.Taken.Outcome || e.Card != k.Taken.Card {
			return traveler.Fail(traveler.KindCorrupt, "store.verify.other", fmt.Sprint(seqs[i]))
		}
	}
	return nil
}

// doHead says where the record ends, to be kept with what leaves the house.
func (hs *house) doHead(out io.Writer) error {
	if hs.file == nil {
		return nil
	}
	_, err := fmt.Fprintf(out, "The record ends at %s; `tallywalk verify --head` compares that.\n",
		hs.file.HeadText())
	return err
}
