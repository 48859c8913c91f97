package ask

import (
	"bufio"
	"io"
	"net"
	"time"

	"github.com/gofiber/fiber/v2"
)

// Stream answers with what write writes, as it is written, and gives each piece the time
// that a whole answer has. What fails on the way cuts the connection off, so that it does
// not look like a whole answer.
func (s *House) Stream(c *fiber.Ctx, write func(io.Writer) error) {
	out := &deadlineWriter{conn: c.Context().Conn(), now: s.Real}
	log, way := s.LogOf(c), c.Route().Path
	c.Context().SetBodyStreamWriter(func(w *bufio.Writer) {
		out.w = w
		if err := write(out); err != nil {
			log.Warn("an answer was cut off", "way", way, "err", err)
			_ = out.conn.Close()
		}
	})
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
