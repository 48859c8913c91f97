package figures

import (
	"io"
	"os"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/people"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// exportScans is the list that holds the numbers of people.
const exportScans = "scans"

// getExport answers a list of batches, visits or scans as a file. It is written
// as it is read, so that it may be long and its reader slow.
func (s *room) getExport(c *fiber.Ctx) error {
	what, f := ask.PathParam(c, "what"), intake.Format(c.Query("format", string(intake.CSV)))
	if !intake.CanExport(what) {
		return traveler.Fail(traveler.KindNotFound, "export.what", what)
	}
	if !f.Valid() {
		return traveler.Invalid("format", "export.format", string(f))
	}
	if role := door.Who(c).Role; what == exportScans && !traveler.May(role, traveler.DeedSettle) &&
		!traveler.May(role, traveler.DeedPlan) {
		return traveler.Fail(traveler.KindForbidden, "web.role", string(role)) // scans say who did what
	}
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	of := intake.Selection{
		Part: sel.Part, RouteRev: sel.RouteRev, Customer: sel.Customer, WorksOrder: sel.Order, From: sel.from,
		To: sel.to, Past: !sel.reaches(s.Time()),
	}
	write := func(w io.Writer) error {
		return intake.Export(w, people.WithoutBadges(s.Desk, s.Tables), what, f, s.Zone, of)
	}
	if f == intake.XLSX {
		// What does not fit in a workbook is found before the answer begins.
		if write, err = spooled(write); err != nil {
			return err
		}
	}
	c.Set(fiber.HeaderContentType, f.Media())
	c.Set(
		fiber.HeaderContentDisposition,
		`attachment; filename="`+what+" "+sel.FromDate+" to "+sel.ToDate+"."+string(f)+`"`,
	)
	c.Set(fiber.HeaderCacheControl, "no-store")
	s.Stream(c, write)
	return nil
}

// spooled writes to a file that goes when it has been read.
func spooled(write func(io.Writer) error) (func(io.Writer) error, error) {
	f, err := os.CreateTemp("", "tallywalk-export-*")
	if err != nil {
		return nil, err
	}
	drop := func() { _, _ = f.Close(), os.Remove(f.Name()) }
	if err := write(f); err != nil {
		drop()
		return nil, err
	}
	return func(w io.Writer) error {
		defer drop()
		if _, err := f.Seek(0, io.SeekStart); err != nil {
			return err
		}
		_, err := io.Copy(w, f)
		return err
	}, nil
}
