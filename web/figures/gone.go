package figures

import (
	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
)

// asker is who asks for a long history, and may go away before it has come: then
// nobody works on it any more. The server, when it ends, does not wait for it
// either.
type asker struct {
	ctx  *fasthttp.RequestCtx // nil = nobody who could go
	n    int
	left bool
}

// askerOf is who asks. Without a request it is someone who stays.
func askerOf(c *fiber.Ctx) *asker {
	if c == nil {
		return &asker{}
	}
	return &asker{ctx: c.Context()}
}

// lookEvery is after how many batches it is looked who is there: a small part of
// a millisecond.
const lookEvery = 128

// stays reports whether who asks is still there. It is asked for each batch.
func (a *asker) stays() bool {
	if a.n++; a.ctx == nil || a.left || a.n%lookEvery != 0 {
		return !a.left
	}
	select {
	case <-a.ctx.Done():
		a.left = true
	default:
		a.left = hungUp(a.ctx.Conn())
	}
	return !a.left
}

// err is the error of a reading: its own, or that nobody waited for its end.
func (a *asker) err(err error) error {
	if err == nil && a.left {
		return traveler.Fail(traveler.KindBusy, "store.gaveup")
	}
	return err
}
