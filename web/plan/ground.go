package plan

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/xml"
	"errors"
	"image"
	"io"
	"regexp"
	"sort"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/web/ask"
)

// getPlan answers the plan as it holds on a date, for the editor.
func (s *room) getPlan(c *fiber.Ctx) error {
	at := s.Time()
	if v := c.Query("on"); v != "" {
		t, err := time.ParseInLocation(time.DateOnly, v, s.Zone)
		if err != nil {
			return traveler.Invalid("on", "web.date", v)
		}
		at = t
	}
	return s.answerPlan(c, at)
}

func (s *room) answerPlan(c *fiber.Ctx, at time.Time) error {
	shop := s.Desk.Shop()
	v := board.PlanOf(shop, at)
	v.Places, v.Next = shop.Machines(at), nextGround(shop, at)
	return c.JSON(v)
}

// yearsAhead is how far a change of the plan is looked for.
const yearsAhead = 20

// nextGround is when a change of the ground that someone made ahead comes to
// hold; zero if there is none. What is drawn now holds until then only.
func nextGround(shop *traveler.Shop, at time.Time) time.Time {
	version := shop.GroundVersion(at)
	seconds := int(at.AddDate(yearsAhead, 0, 0).Sub(at) / time.Second)
	i := sort.Search(
		seconds, func(i int) bool {
			return shop.GroundVersion(at.Add(time.Duration(i)*time.Second)) != version
		},
	)
	if i == seconds {
		return time.Time{}
	}
	return at.Add(time.Duration(i) * time.Second).Truncate(time.Minute)
}

// newPlan is a changed plan: the whole of the aisles, and the places that were
// moved.
type newPlan struct {
	From    string            `json:"from,omitempty"` // a date; from now on when empty
	Corners []traveler.Corner `json:"corners"`
	Aisles  []traveler.Aisle  `json:"aisles"`
	Picture *traveler.Picture `json:"picture" api:"optional"`
	Places  []movedPlace      `json:"places,omitempty"`
}

// movedPlace is where a machine stands from then on.
type movedPlace struct {
	Machine traveler.MachineID `json:"machine"`
	X       float64            `json:"x_m"`
	Y       float64            `json:"y_m"`
}

const (
	mostMetres  = 100_000
	mostCorners = 5_000
)

// postPlan changes the plan from a date on; walks made before keep their
// lengths.
func (s *room) postPlan(c *fiber.Ctx) error {
	var in newPlan
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	from, err := s.HoldsFrom(in.From)
	if err != nil {
		return err
	}
	shop := s.Desk.Shop()
	ch := &traveler.Change{
		From: from, Layout: &traveler.Layout{Corners: in.Corners, Aisles: in.Aisles, Picture: in.Picture},
	}
	if err := planFits(shop, &in, from); err != nil {
		return err
	}
	if err := s.pictureKept(in.Picture); err != nil {
		return err
	}
	for _, p := range in.Places {
		m, _ := shop.Machine(p.Machine, from)
		if m.X != p.X || m.Y != p.Y {
			m.X, m.Y = p.X, p.Y
			ch.Machines = append(ch.Machines, m)
		}
	}
	if err := s.Change(c, ch); err != nil {
		return err
	}
	return s.answerPlan(c, from)
}

// planFits checks a plan that someone drew.
func planFits(shop *traveler.Shop, in *newPlan, from time.Time) error {
	if len(in.Corners) > mostCorners || len(in.Aisles) > 2*mostCorners {
		return traveler.Invalid("corners", "form.number")
	}
	names := map[string]bool{}
	for _, m := range shop.Machines(from) {
		names[string(m.ID)] = true
	}
	for _, k := range in.Corners {
		if k.ID == "" || names[k.ID] {
			return traveler.Invalid("corners", "plan.corner", k.ID)
		}
		names[k.ID] = true
		if !within(k.X) || !within(k.Y) {
			return traveler.Invalid("corners", "form.number")
		}
	}
	for _, a := range in.Aisles {
		for _, end := range []string{a.From, a.To} {
			if !names[end] {
				return traveler.Invalid("aisles", "plan.aisle", end)
			}
		}
		if a.From == a.To || a.Metres < 0 || !within(a.Metres) {
			return traveler.Invalid("aisles", "plan.length", a.From, a.To)
		}
	}
	for _, p := range in.Places {
		if _, ok := shop.Machine(p.Machine, from); !ok {
			return traveler.Invalid("places", "place.unknown", string(p.Machine))
		}
		if !within(p.X) || !within(p.Y) {
			return traveler.Invalid("places", "form.number")
		}
	}
	if p := in.Picture; p != nil &&
		(p.Width <= 0 || p.Height <= 0 || !within(p.Width) || !within(p.Height) || !within(p.X) ||
			!within(p.Y)) {
		return traveler.Invalid("picture", "form.number")
	}
	return nil
}

func within(x float64) bool { return x >= -mostMetres && x <= mostMetres }

// tablePictures holds pictures of the hall by the SHA-256 of the file.
const tablePictures = "pictures"

var pictureRef = regexp.MustCompile(`^[0-9a-f]{64}$`)

// pictureKept refuses a picture that is not here: a plan must not point at
// something else.
func (s *room) pictureKept(p *traveler.Picture) error {
	if p == nil {
		return nil
	}
	if !pictureRef.MatchString(p.Ref) {
		return traveler.Invalid("picture", "plan.ref")
	}
	body, err := s.Tables.Get(tablePictures, p.Ref)
	if err == nil && body == nil {
		err = traveler.Invalid("picture", "plan.ref")
	}
	return err
}

// keptPicture is a picture of the hall that a plan may show. The size of an SVG
// is not known: 0.
type keptPicture struct {
	Ref    string `json:"ref"`
	Type   string `json:"type"`
	Width  int    `json:"width_px"`
	Height int    `json:"height_px"`
}

// postPicture keeps a picture of the hall: PNG, JPEG or SVG, up to what a
// request may hold.
func (s *room) postPicture(c *fiber.Ctx) error {
	body := c.Request().Body()
	kind, width, height := pictureKind(body)
	if kind == "" {
		return traveler.Invalid("picture", "plan.picture")
	}
	if width > 0 && !s.decodes(body) {
		return traveler.Invalid("picture", "plan.broken")
	}
	sum := sha256.Sum256(body)
	ref := hex.EncodeToString(sum[:])
	if err := s.Tables.Put(tablePictures, ref, body); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(keptPicture{ref, kind, width, height})
}

// mostPixels is how many a picture may have: one file of a few kilobytes could
// claim thousands of millions, and every page that shows it would fail.
const mostPixels = 25_000_000

// pictureKind gives the media type of a picture by its head; empty = none that
// is taken. The size of an SVG is not known.
func pictureKind(body []byte) (kind string, width, height int) {
	cfg, format, err := image.DecodeConfig(bytes.NewReader(body))
	switch {
	case err != nil:
		if isSVG(body) {
			return "image/svg+xml", 0, 0
		}
	case format != "png" && format != "jpeg": // other packages may know more formats
	case cfg.Width > 0 && cfg.Height > 0 && cfg.Width <= mostPixels/cfg.Height:
		return "image/" + format, cfg.Width, cfg.Height
	}
	return "", 0, 0
}

// decodes reports whether all of a picture is there, one at a time: that takes
// the memory of its pixels.
func (s *room) decodes(body []byte) bool {
	s.drawing.Lock()
	defer s.drawing.Unlock()
	_, _, err := image.Decode(bytes.NewReader(body))
	return err == nil
}

// Limits of an SVG, far above what a plan of a hall needs.
const (
	mostTokens  = 500_000
	deepestMark = 200
)

// isSVG reports whether a file is well-formed XML with svg at its root. Entities
// of its own are none of it.
func isSVG(body []byte) bool {
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimPrefix(body, []byte("\ufeff"))))
	depth, root := 0, false
	for range mostTokens {
		t, err := d.Token()
		if err != nil {
			return errors.Is(err, io.EOF) && root
		}
		switch t := t.(type) {
		case xml.StartElement:
			if depth == 0 && (root || t.Name.Local != "svg") || depth == deepestMark {
				return false
			}
			depth, root = depth+1, true
		case xml.EndElement:
			depth--
		case xml.CharData:
			if depth == 0 && len(bytes.TrimSpace(t)) > 0 {
				return false
			}
		}
	}
	return false
}

// getPicture answers a picture. An SVG may hold scripts: nothing of it runs.
func (s *room) getPicture(c *fiber.Ctx) error {
	body, err := s.Tables.Get(tablePictures, ask.PathParam(c, "ref"))
	if err != nil {
		return err
	}
	kind, _, _ := pictureKind(body)
	if kind == "" {
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	}
	c.Set(fiber.HeaderContentType, kind)
	c.Set(fiber.HeaderContentSecurityPolicy, "default-src 'none'; style-src 'unsafe-inline'; sandbox")
	c.Set(fiber.HeaderCacheControl, "private, max-age=31536000, immutable")
	return c.Send(body)
}
