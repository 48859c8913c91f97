package live

import (
	"bufio"
	"compress/flate"
	"errors"
	"net"
	"net/http"
	"net/url"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/gorilla/websocket"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Deadlines of a socket.
const (
	socketWrite = 10 * time.Second
	socketPing  = 20 * time.Second
	socketRead  = 60 * time.Second
	// socketLook is how often a socket looks whether it is still let in.
	socketLook  = 500 * time.Millisecond
	socketLimit = 1 << 10 // a board says nothing
	// deflateFrom is how long a message must be to be deflated: a whole board
	// shrinks to a tenth, a change costs more than it saves.
	deflateFrom = 8 << 10
	// deflateHard is how hard: it is done once for all sockets, and takes a
	// quarter off what the fastest leaves.
	deflateHard = flate.DefaultCompression
	// protocol is what a page offers that sends a pass along (web/door/crossing.go).
	protocol = "tallywalk"
)

// getBoard answers the whole of a board.
func (s *Live) getBoard(name string) fiber.Handler {
	return func(c *fiber.Ctx) error {
		board := s.hub.feeds[name].snapshot(door.Who(c).How == door.ByScreen)
		if name == boardWaits {
			withWhy(board, s.Now())
		}
		if err := c.JSON(board); err != nil {
			return err
		}
		if body := c.Response().Body(); len(body) > deflateFrom &&
			c.Request().Header.HasAcceptEncoding("gzip") {
			c.Set(fiber.HeaderContentEncoding, "gzip")
			c.Vary(fiber.HeaderAcceptEncoding)
			c.Response().SetBodyRaw(
				fasthttp.AppendGzipBytesLevel(nil, body, fasthttp.CompressDefaultCompression))
		}
		return nil
	}
}

// getLive turns a request into the websocket of a board: gorilla upgrades the
// connection that fasthttp hands over, after fiber's middleware has looked at
// host, origin and sign-in.
func (s *Live) getLive(c *fiber.Ctx) error {
	feed, ok := s.hub.feeds[c.Query("board", boardWaits)]
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "web.board", c.Query("board"))
	}
	if !ask.IsUpgrade(c) {
		return fiber.ErrUpgradeRequired
	}
	req, p, id, log := upgradeRequest(c), door.Who(c), ask.RequestID(c), s.LogOf(c)
	raw := c.Context().Conn()
	c.Context().HijackSetNoResponse(true)
	c.Context().Hijack(func(hijacked net.Conn) {
		defer func() {
			if r := recover(); r != nil {
				log.Error("a board's socket failed", "panic", r)
			}
			_ = raw.Close() // closing the hijacked one does nothing
		}()
		ws, err := upgrade(&handed{read: hijacked, Conn: raw}, req, id)
		if err != nil {
			log.Debug("no board", "err", err)
			return
		}
		s.serveSocket(ws, p, feed)
	})
	return nil
}

// upgradeRequest copies what gorilla needs of the request; nothing of fiber's
// context may be touched later.
func upgradeRequest(c *fiber.Ctx) *http.Request {
	h := http.Header{}
	c.Request().Header.VisitAll(func(k, v []byte) { h.Add(string(k), string(v)) })
	return &http.Request{
		Method: http.MethodGet, URL: &url.URL{Path: "/live"}, Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1,
		Header: h, Host: string(c.Request().Host()),
	}
}

// handed is the connection as gorilla gets it: it reads through the hijacked
// reader, which may hold early frames, and writes and closes on the raw one.
type handed struct {
	net.Conn
	read net.Conn
}

// Read reads what came; it fails as the connection does.
func (h *handed) Read(b []byte) (int, error) { return h.read.Read(b) }

// handover is the http.ResponseWriter and http.Hijacker that gorilla asks for.
type handover struct {
	conn   net.Conn
	header http.Header
	status int
}

// Header is the head of an answer that is never sent.
func (h *handover) Header() http.Header { return h.header }

// Write writes to the connection, and fails as it does.
func (h *handover) Write(b []byte) (int, error) { return h.conn.Write(b) }

// WriteHeader notes the status.
func (h *handover) WriteHeader(status int) { h.status = status }

// Hijack hands the connection over; it never fails.
func (h *handover) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	return h.conn, bufio.NewReadWriter(bufio.NewReader(h.conn), bufio.NewWriter(h.conn)), nil
}

// upgrade answers a request that asks for a socket, with the request's id.
func upgrade(conn net.Conn, req *http.Request, id string) (*websocket.Conn, error) {
	// The origin was checked by guard, for sockets and requests alike.
	up := websocket.Upgrader{
		HandshakeTimeout: socketWrite, EnableCompression: true, Subprotocols: []string{protocol},
		CheckOrigin: func(*http.Request) bool { return true },
	}
	ws, err := up.Upgrade(&handover{conn: conn, header: http.Header{}}, req,
		http.Header{ask.RequestHeader: {id}})
	if err != nil {
		return nil, err
	}
	return ws, ws.SetCompressionLevel(deflateHard)
}

// serveSocket keeps one board up to date until it goes.
func (s *Live) serveSocket(ws *websocket.Conn, p door.Principal, f *feed) {
	s.open.Add(1)
	defer s.open.Add(-1)
	gone := make(chan struct{})
	go s.listen(ws, gone)
	s.keepUpToDate(ws, gone, p, f)
	_ = ws.Close() // ends listen
	<-gone
}

// listen answers pings and notices when the other side goes.
func (s *Live) listen(ws *websocket.Conn, gone chan<- struct{}) {
	defer close(gone)
	ws.SetReadLimit(socketLimit)
	extend := func(string) error { return ws.SetReadDeadline(s.Real().Add(socketRead)) }
	ws.SetPongHandler(extend)
	if extend("") != nil {
		return
	}
	for {
		if _, _, err := ws.NextReader(); err != nil {
			return
		}
	}
}

var errClosing = errors.New("the server closes")

// keepUpToDate sends the whole board, then what changes, skipping what a slow
// screen could not take in time.
func (s *Live) keepUpToDate(ws *websocket.Conn, gone <-chan struct{}, p door.Principal, f *feed) {
	ping := time.NewTicker(socketPing)
	defer ping.Stop()
	look := time.NewTicker(socketLook)
	defer look.Stop()
	seq := uint64(0)
	for {
		if !s.Still(p) {
			return // signed out, or removed, since
		}
		message, at, wait, err := f.next(seq, p.How == door.ByScreen)
		if err == nil && wait == nil {
			err = errClosing
			_ = ws.WriteControl(
				websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseGoingAway, "closing"),
				s.Real().Add(time.Second),
			)
		}
		if err == nil && message != nil {
			err = send(ws, message, s.Real().Add(socketWrite))
		}
		if err != nil {
			return
		}
		seq = at
		select {
		case <-gone:
			return
		case <-wait:
		case <-look.C:
		case <-ping.C:
			// A page cannot see pings; the beat shows it that the board stands.
			beat, err := f.beat()
			if err != nil || ws.WriteControl(websocket.PingMessage, nil, s.Real().Add(socketWrite)) != nil ||
				send(ws, beat, s.Real().Add(socketWrite)) != nil {
				return
			}
		}
	}
}

func send(ws *websocket.Conn, m *frame, until time.Time) error {
	if err := ws.SetWriteDeadline(until); err != nil {
		return err
	}
	ws.EnableWriteCompression(len(m.message) > deflateFrom)
	return ws.WritePreparedMessage(m.ready)
}
