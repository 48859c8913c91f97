package figures

import (
	"bufio"
	"io"
	"net"
	"os"
	"time"

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
		return traveler.Fail(traveler.KindForbidden, "web.role", string(role)) // scans tell who did what
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
	out := &deadlineWriter{conn: c.Context().Conn(), now: s.Real}
	path := c.Path()
	c.Context().SetBodyStreamWriter(func(w *bufio.Writer) {
		out.w = w
		if err := write(out); err != nil {
			// An answer cut off must not look like a whole one.
			s.Log.Warn("export was cut off", "path", path, "err", err)
			_ = out.conn.Close()
		}
	})
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

// deadlineWriter gives each piece of a long answer the time that a whole one has.
type deadlineWriter struct {
	w    *bufio.Writer
	conn net.Conn
	now  func() time.Time
}

// pieceTime is how long a piece of a long answer may take.
const pieceTime = 30 * time.Second

// Write passes a piece on and waits until it has gone out. It fails as the
// connection does, after pieceTime at the latest.
func (p *deadlineWriter) Write(b []byte) (int, error) {
	if err := p.conn.SetWriteDeadline(p.now().Add(pieceTime)); err != nil {
		return 0, err
	}
	n, err := p.w.Write(b)
	if err != nil {
		return n, err
	}
	return n, p.w.Flush()
}
