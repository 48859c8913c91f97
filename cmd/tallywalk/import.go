package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
)

func cmdImport(h host, args []string) error {
	f := flags(h, "import")
	dir := dataFlag(f)
	dry := f.Bool("dry-run", false, "check the file and change nothing")
	mapping := f.String("mapping", "", "for scans: a file that tells what the columns of an old log are")
	zone := f.String("zone", "", "for scans with --mapping: the zone of the log's clock, such as Europe/Berlin (the shop's)")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if len(words) != 2 {
		return &usageError{"say what is imported and the file, such as: import machines machines.csv"}
	}
	req := request{Do: "import", Kind: words[0], File: words[1], DryRun: *dry, MapName: *mapping, Zone: *zone}
	if !slices.Contains([]string{"machines", "corners", "aisles", "calendars", "routes", "batches", "reasons", "people", "scans"}, req.Kind) {
		return &usageError{fmt.Sprintf("%q is no list that can be imported", req.Kind)}
	}
	if (*mapping != "" && req.Kind != "scans") || (*zone != "" && *mapping == "") {
		return &usageError{"--mapping is for scans, and --zone goes with it"}
	}
	if *mapping != "" {
		if req.Mapping, err = readMapping(*mapping); err != nil {
			return err
		}
	}
	if err := needData(*dir); err != nil {
		return err
	}
	in := h.in
	if words[1] != "-" {
		file, err := os.Open(words[1])
		if err != nil {
			return fmt.Errorf("the file %s cannot be read: %w", words[1], errors.Unwrap(err))
		}
		defer func() { _ = file.Close() }()
		in = file
	}
	return at(h, *dir, req, in)
}

var importer = traveler.Actor{Name: "import", Role: traveler.RoleAdministrator}

func (hs *house) doImport(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	c := &traveler.Change{From: hs.host.now().UTC()}
	var err error
	n := 0
	switch req.Kind {
	case "machines":
		c.Machines, err = intake.Machines(req.File, in)
		n = len(c.Machines)
	case "corners", "aisles":
		c.Layout, n, err = hs.layoutWith(req, in, c.From)
	case "calendars":
		c.Calendars, err = hs.calendars(req, in)
		n = len(c.Calendars)
	case "reasons":
		c.Reasons, err = intake.Reasons(req.File, in)
		n = len(c.Reasons)
	case "routes":
		c.Routes, err = intake.Routes(req.File, in)
		n = len(c.Routes)
	case "people":
		return hs.importPeople(req, in, out)
	case "batches":
		return hs.importBatches(ctx, req, in, out)
	case "scans":
		if req.MapName != "" {
			return hs.importLog(ctx, req, in, out)
		}
		return hs.importScans(ctx, req, in, out)
	}
	if err != nil {
		return err
	}
	if !req.DryRun && n > 0 {
		if err := hs.desk.Change(ctx, importer, c); err != nil {
			return err
		}
	}
	fmt.Fprintf(out, "%d %s %s\n", n, req.Kind, done(req, "imported"))
	hs.warnCentres(c, out)
	hs.warnGround(out)
	return nil
}

func done(req request, word string) string {
	if req.DryRun {
		return "would be " + word
	}
	return word
}

// warnCentres names work centres of routes that no machine does yet.
func (hs *house) warnCentres(c *traveler.Change, out io.Writer) {
	shop, warned := hs.desk.Shop(), map[traveler.WorkCentre]bool{}
	for _, r := range c.Routes {
		for _, o := range r.Operations {
			able := o.Outside() || warned[o.WorkCentre]
			for _, m := range shop.Machines(c.From) {
				able = able || shop.CanWork(m.ID, o.WorkCentre, c.From)
			}
			if !able {
				warned[o.WorkCentre] = true
				fmt.Fprintf(out, "note: no machine does work centre %s yet (route %s of %s); import it with the machines\n", o.WorkCentre, r.Rev, r.Part)
			}
		}
	}
}

func (hs *house) importPeople(req request, in io.Reader, out io.Writer) error {
	list, err := intake.People(req.File, in)
	if err != nil {
		return err
	}
	known := map[traveler.PersonID]traveler.Code{}
	if err := hs.tables.Each("people", func(code string, v []byte) bool {
		var p people.Person
		if json.Unmarshal(v, &p) == nil {
			known[p.ID] = p.Code
		}
		return true
	}); err != nil {
		return err
	}
	if err := badgesFree(req.File, list, known, people.NewBadges(hs.tables)); err != nil {
		return err
	}
	for _, p := range list {
		row := people.Person{ID: p.ID, Code: cmp.Or(p.Code, known[p.ID]), Name: p.Name, Role: p.Role}
		if row.Code == "" {
			if row.Code, err = newCode(hs.host.rand, traveler.KindPerson); err != nil {
				return err
			}
		}
		if req.DryRun {
			continue
		}
		if err := people.Put(hs.tables, row, known[p.ID], hs.host.now()); err != nil {
			return err
		}
	}
	fmt.Fprintf(out, "%d people %s\n", len(list), done(req, "imported"))
	return nil
}

// badgesFree refuses a badge that another person has or had, here or in the
// list: scans that it made are theirs.
func badgesFree(file string, list []intake.Person, known map[traveler.PersonID]traveler.Code, before *people.Badges) error {
	owner := map[traveler.Code]traveler.PersonID{}
	for id, code := range known {
		owner[code] = id
	}
	var bad intake.Refused
	for _, p := range list {
		if has := cmp.Or(owner[p.Code], before.Owner(p.Code)); p.Code != "" && has != "" && has != p.ID {
			bad.Add(intake.Problem{File: file, Line: p.Line, Column: "code", Value: string(p.Code), Reason: "is the badge of " + string(has)})
			continue
		}
		if p.Code != "" {
			owner[p.Code] = p.ID
		}
	}
	return bad.Err()
}

func newCode(random io.Reader, kind traveler.Kind) (traveler.Code, error) {
	for {
		var b [5]byte
		if _, err := io.ReadFull(random, b[:]); err != nil {
			return "", err
		}
		n := uint64(0)
		for _, x := range b {
			n = n<<8 | uint64(x)
		}
		if c, ok := traveler.NewCode(kind, n); ok {
			return c, nil
		}
	}
}

// importBatches releases the batches of a list. A works order that is there
// already is updated instead, the first line of it its first batch, and so on.
func (hs *house) importBatches(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	set, err := hs.settings()
	if err != nil {
		return err
	}
	zone, err := zoneOf(set.Zone)
	if err != nil {
		return err
	}
	batches, err := intake.Batches(req.File, in, zone)
	if err != nil {
		return err
	}
	if err := hs.checkBatches(req.File, batches); err != nil {
		return err
	}
	seen := map[string]int{}
	var fresh []traveler.Release
	var cards []traveler.Code
	var changes []story.Said
	var bad intake.Refused
	same := 0
	for _, b := range batches {
		r := b.Release
		key := strings.Join([]string{r.WorksOrder, r.Part, r.RouteRev, r.OrderLine}, "\x00")
		if r.WorksOrder == "" {
			key = fmt.Sprintf("%+v", r)
		}
		n := seen[key]
		seen[key]++
		r.ID = traveler.IDOf(fmt.Sprintf("batch %s %d", key, n))
		f, i := hs.carded(&b)
		if f != nil {
			asReleased(f, i, &r)
		} else {
			f, i = hs.nth(&r, n)
			keepMadeUp(f, i, &r)
		}
		if f != nil {
			line := b
			line.Release = r
			up := hs.updates(f, i, &line)
			if s := f.State(i); len(up) > 0 && (s == story.StateCancelled || f.Batches[i].Joined != "") {
				bad.Add(intake.Problem{File: req.File, Line: b.Line, Column: "works_order", Value: r.WorksOrder, Reason: "batch " + string(f.Batches[i].Card) + " is cancelled or joined and changes no more"})
			}
			if len(up) == 0 {
				same++
			}
			changes = append(changes, up...)
			continue
		}
		fresh, cards = append(fresh, r), append(cards, b.Card)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	updated := len(batches) - len(fresh) - same
	if !req.DryRun {
		if err := hs.takeBatches(ctx, req.File, fresh, cards, changes); err != nil {
			return err
		}
	}
	fmt.Fprintf(out, "%d batches %s, %d updated, %d as they were\n", len(fresh), done(req, "released"), updated, same)
	return nil
}

func (hs *house) takeBatches(ctx context.Context, file string, fresh []traveler.Release, cards []traveler.Code, changes []story.Said) error {
	if len(fresh) > 0 {
		answers, err := hs.desk.Release(ctx, importer, fresh, cards)
		if err != nil {
			return fmt.Errorf("%s: nothing was imported: %s", file, sentence(err))
		}
		for i := range answers {
			if answers[i].Err != nil {
				return fmt.Errorf("%s: nothing was imported: %s", file, sentence(answers[i].Err))
			}
		}
	}
	if len(changes) == 0 {
		return nil
	}
	answers, err := hs.desk.Scans(ctx, changes)
	if err != nil {
		return err
	}
	for i := range answers {
		if answers[i].Err != nil {
			return answers[i].Err
		}
		if answers[i].Outcome == traveler.Refused {
			return fmt.Errorf("%s: batch %s was not updated: %s", file, changes[i].Scan.Card, answers[i].Say.Text("en"))
		}
	}
	return nil
}

// checkBatches names the lines whose part and route are not known.
func (hs *house) checkBatches(file string, batches []intake.Batch) error {
	shop := hs.desk.Shop()
	var bad intake.Refused
	for _, b := range batches {
		if _, ok := shop.Route(b.Release.Part, b.Release.RouteRev); ok {
			continue
		}
		bad.Add(intake.Problem{File: file, Line: b.Line, Column: "route_rev", Value: b.Release.RouteRev,
			Reason: "part " + b.Release.Part + " has no route of this revision; import routes first"})
	}
	return bad.Err()
}

// carded finds the batch that has the card of a line already.
func (hs *house) carded(b *intake.Batch) (*story.Family, int) {
	if b.Card == "" {
		return nil, 0
	}
	f, err := hs.desk.Family(b.Card)
	if err != nil {
		return nil, 0
	}
	i := f.Index(b.Card)
	if i < 0 || f.Batches[i].Part != b.Release.Part || f.Batches[i].Rev != b.Release.RouteRev {
		return nil, 0
	}
	return f, i
}

// asReleased lets a line that was exported change nothing: it has what its batch
// was released with, and someone may have changed that since.
func asReleased(f *story.Family, i int, r *traveler.Release) {
	for _, e := range f.Record() {
		if was := e.Release; was != nil && e.Card == f.Batches[i].Card {
			if r.Pieces == was.Pieces {
				r.Pieces = f.Batches[i].Started
			}
			if r.Wanted == cmp.Or(was.Wanted, was.Pieces) {
				r.Wanted = f.Batches[i].Wanted
			}
			if r.Priority == was.Priority {
				r.Priority = f.Batches[i].Priority
			}
			if r.Due.Equal(was.Due) {
				r.Due = f.Batches[i].Due
			}
			if r.Hot == was.Hot {
				r.Hot = f.Batches[i].Hot
			}
			if r.Customer == was.Customer {
				r.Customer = f.Batches[i].Customer
			}
			if r.OrderLine == was.OrderLine {
				r.OrderLine = f.Batches[i].Line
			}
			if slices.Equal(r.MaterialLots, was.MaterialLots) {
				r.MaterialLots = f.Batches[i].Lots
			}
		}
	}
}

// keepMadeUp keeps what is wanted of a batch that others make up for: the list says
// what the order line wants, of all of them together.
func keepMadeUp(f *story.Family, i int, r *traveler.Release) {
	if f == nil || len(f.Batches[i].MadeUp) == 0 {
		return
	}
	for _, e := range f.Record() {
		if was := e.Release; was != nil && e.Card == f.Batches[i].Card && r.Wanted == cmp.Or(was.Wanted, was.Pieces) {
			r.Wanted = f.Batches[i].Wanted
		}
	}
}

// nth finds the n-th batch of a works order, counted by when it was released.
func (hs *house) nth(r *traveler.Release, n int) (*story.Family, int) {
	if r.WorksOrder == "" {
		return nil, 0
	}
	for _, card := range hs.desk.FindCard(r.WorksOrder) {
		f, err := hs.desk.Family(card)
		if err != nil || f.Root != card {
			continue
		}
		if b := &f.Batches[0]; b.Part != r.Part || b.Rev != r.RouteRev || b.Line != r.OrderLine || b.Order != r.WorksOrder {
			continue
		}
		if n == 0 {
			return f, 0
		}
		n--
	}
	return nil, 0
}

// updates are the scans that bring a batch to what a line of the list says of it now.
// What the line leaves out stays as it is.
func (hs *house) updates(f *story.Family, i int, line *intake.Batch) []story.Said {
	b, r := &f.Batches[i], &line.Release
	var out []story.Said
	say := func(column, what, to string, pieces int, same bool) {
		if same || column != "" && !line.Says(column) {
			return
		}
		now := hs.host.now().UTC()
		id := traveler.IDOf(fmt.Sprintf("update %s %s %s %d %d", b.Card, what, to, pieces, now.UnixNano()))
		out = append(out, story.Said{By: importer, Scan: traveler.Scan{
			ID: id, At: now, Station: traveler.Office, Card: string(b.Card), Action: traveler.ActOverride, For: what, To: to, Pieces: pieces,
			Reason: traveler.Importer, Note: "import",
		}})
	}
	say("", story.OverridePieces, "", r.Pieces, r.Pieces == b.Started)
	wanted := cmp.Or(r.Wanted, r.Pieces)
	say("wanted", story.OverrideWanted, "", wanted, wanted == b.Wanted)
	if !line.Says("wanted") && b.Wanted == b.Started {
		say("", story.OverrideWanted, "", r.Pieces, r.Pieces == b.Wanted) // as many as are started
	}
	say("due", story.OverrideDue, r.Due.Format(time.DateOnly), 0, r.Due.Equal(b.Due))
	say("priority", story.OverridePriority, "", r.Priority, r.Priority == b.Priority)
	hot := 0
	if r.Hot {
		hot = 1
	}
	say("hot", story.OverrideHot, "", hot, r.Hot == b.Hot)
	say("customer", story.OverrideCustomer, r.Customer, 0, r.Customer == b.Customer)
	say("order_line", story.OverrideLine, r.OrderLine, 0, r.OrderLine == b.Line)
	lots := strings.Join(r.MaterialLots, ", ")
	say("material_lot", story.OverrideLots, lots, 0, slices.Equal(r.MaterialLots, b.Lots))
	return out
}
