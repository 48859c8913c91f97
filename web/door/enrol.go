package door

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/skip2/go-qrcode"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

// A supervisor asks for a code, the device reads it from the supervisor's screen or
// someone types it, and the device is a station from then on. Wall screens get a link
// that only looks.

// enrolBody is a station to enrol.
type enrolBody struct {
	Name    string `json:"name"`
	Machine string `json:"machine,omitempty"`
	// Language is what the station begins with; it can be changed there.
	Language string `json:"language,omitempty" api:"enum=en|de|es|pl|tr"`
}

const enrolTime = 30 * time.Minute

// enrolCode enrols one device within so many minutes.
type enrolCode struct {
	Code    string `json:"code"`
	Minutes int    `json:"minutes"`
	Link    string `json:"link"` // opens the station page with the code in it
	QR      symbol `json:"qr"`   // of the link
}

// symbol is a QR symbol as a page draws it: a path of its dark modules, one unit each,
// in a square of so many units with its quiet zone.
type symbol struct {
	Side int    `json:"side"`
	Path string `json:"path"`
}

// symbolOf is the QR symbol of a text. It fails where the text is too long for one.
func symbolOf(text string) (symbol, error) {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return symbol{}, fmt.Errorf("a QR of %s: %w", text, err)
	}
	m := q.Bitmap()
	var path strings.Builder
	for y, row := range m {
		for x, dark := range row {
			if dark {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	return symbol{len(m), path.String()}, nil
}

// postEnrolCode gives a code that enrols one device.
func (s *Door) postEnrolCode(c *fiber.Ctx) error {
	var in enrolBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if err := stationNamed(in.Name); err != nil {
		return err
	}
	if _, ok := s.Desk.Shop().FindMachine(in.Machine); in.Machine != "" && !ok {
		return traveler.Invalid("machine", "station.unknown", in.Machine)
	}
	if err := checkLanguage(in.Language); err != nil {
		return err
	}
	code, err := s.giveOnce(
		pass{Kind: "station", Name: in.Name, Machine: in.Machine, By: Who(c).Name, Language: in.Language},
		enrolTime,
	)
	if err != nil {
		return err
	}
	link := s.EntryURL + "/enrol?code=" + code
	qr, err := symbolOf(link)
	if err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(enrolCode{code, int(enrolTime / time.Minute), link, qr})
}

// codeBody is a one-time code.
type codeBody struct {
	Code string `json:"code"`
}

// enrolled is the station that a device has become.
type enrolled struct {
	Name    string        `json:"name"`
	Machine string        `json:"machine"`
	Device  traveler.Code `json:"device"`
}

// postEnrol makes this device a station.
func (s *Door) postEnrol(c *fiber.Ctx) error {
	var in codeBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	p, err := s.guessOnce(c, in.Code, "station", true)
	if err != nil {
		return err
	}
	secret, err := s.secret()
	if err != nil {
		return err
	}
	device, err := s.newCode(traveler.KindDevice)
	if err != nil {
		return err
	}
	row := pass{
		Name: p.Name, Role: traveler.RoleOperator, Machine: p.Machine, Made: s.Time(), By: p.By,
		Device: string(device), Language: p.Language,
	}
	if err := s.putRow(tableStations, sumOf(secret), row); err != nil {
		return err
	}
	s.Log.Info("station enrolled", "pass", shortID(sumOf(secret)), "address", s.address(c))
	s.cookie(c, cookieStation, secret, stationTime)
	return c.JSON(enrolled{p.Name, p.Machine, device})
}

// newCode makes a code that nobody can guess.
func (s *Door) newCode(kind traveler.Kind) (traveler.Code, error) {
	for {
		var b [8]byte
		if _, err := io.ReadFull(s.Rand, b[:]); err != nil {
			return "", err
		}
		if code, ok := traveler.NewCode(kind, binary.BigEndian.Uint64(b[:])); ok {
			return code, nil
		}
	}
}

// passView is a station in the list.
type passView struct {
	ID      string    `json:"id"`
	Name    string    `json:"name"`
	Machine string    `json:"machine,omitempty"`
	Device  string    `json:"device,omitempty"`
	Made    time.Time `json:"made"`
	By      string    `json:"by"`
}

func (s *Door) passes(table string) ([]passView, error) {
	return rows.List(s.Tables, table, passViewOf, func(a, b passView) int { return a.Made.Compare(b.Made) })
}

func passViewOf(key string, p *pass) passView {
	return passView{key[:passID], p.Name, p.Machine, p.Device, p.Made, p.By}
}

// Devices are the stations that were let in, as their labels say them, the oldest first.
// It fails as the tables do.
func (s *Door) Devices() ([]paper.Device, error) {
	all, err := s.passes(tableStations)
	if err != nil {
		return nil, err
	}
	out := make([]paper.Device, len(all))
	for i := range all {
		out[i] = paper.Device{Name: all[i].Name, Machine: all[i].Machine}
	}
	return out, nil
}

// stationsView is the devices that were let in.
type stationsView struct {
	Stations []passView   `json:"stations"`
	Screens  []hungScreen `json:"screens"`
}

func (s *Door) getStations(c *fiber.Ctx) error {
	stations, err := s.passes(tableStations)
	if err != nil {
		return err
	}
	screens, err := s.screens()
	if err != nil {
		return err
	}
	return c.JSON(stationsView{stations, screens})
}

// stationName is what a station is called.
type stationName struct {
	Name string `json:"name"`
}

// patchStation gives a station another name. What it said keeps the name of then.
func (s *Door) patchStation(c *fiber.Ctx) error {
	var in stationName
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if err := stationNamed(in.Name); err != nil {
		return err
	}
	id := ask.PathParam(c, "id")
	all, err := rows.All[pass](s.Tables, tableStations)
	if err != nil {
		return err
	}
	for key, p := range all {
		if len(id) < passID || !strings.HasPrefix(key, id) {
			continue
		}
		p.Name = in.Name
		if err := s.putRow(tableStations, key, p); err != nil {
			return err
		}
		return c.JSON(passView{key[:passID], p.Name, p.Machine, p.Device, p.Made, p.By})
	}
	return traveler.Fail(traveler.KindNotFound, "web.station", id)
}

// stationNamed reports what is wrong with the name of a station.
func stationNamed(name string) error {
	if reserved(name) {
		return traveler.Invalid("name", "web.reserved", traveler.Importer)
	}
	if !goodName(name) {
		return traveler.Invalid("name", "web.name")
	}
	return nil
}

// deletePass removes a station, a screen or a token.
func (s *Door) deletePass(table string) fiber.Handler {
	return func(c *fiber.Ctx) error {
		id := ask.PathParam(c, "id")
		all, err := rows.All[pass](s.Tables, table)
		if err != nil {
			return err
		}
		for key := range all {
			if id != "" && strings.HasPrefix(key, id) && len(id) >= passID {
				if err := errors.Join(s.Tables.Delete(table, key), s.dropCrossings(key)); err != nil {
					return err
				}
			}
		}
		return c.SendStatus(fiber.StatusNoContent)
	}
}

// me is who asks, and what this server is.
type me struct {
	Name      string          `json:"name"`
	Role      traveler.Role   `json:"role"`
	How       string          `json:"how" api:"enum=account|token|station|screen|open"`
	May       []traveler.Deed `json:"may"`
	Languages []string        `json:"languages"` // that a station and a wall can have
	Open      bool            `json:"open"`      // the demo: nobody signs in
	Version   string          `json:"version"`
	Zone      string          `json:"zone"`     // the shop's; empty = this computer's own
	Currency  string          `json:"currency"` // of rates and costs, ISO 4217
	Pace      float64         `json:"pace"`     // how fast the shop's clock runs
	Now       time.Time       `json:"now"`
	PublicURL string          `json:"public_url"`
	EntryURL  string          `json:"entry_url"`         // where a device begins that may not trust the server yet
	Epoch     string          `json:"epoch"`             // names the record
	Sites     bool            `json:"sites"`             // it shows the records of several sites, and has no shop of its own
	Machine   *string         `json:"machine,omitempty"` // of a station
	Device    *string         `json:"device,omitempty"`
	// Servers keep this record together, by name; left out where one keeps it.
	Servers []serverAt `json:"servers,omitempty"`
}

// getMe says who a page is for, and what this server is.
func (s *Door) getMe(c *fiber.Ctx) error {
	p := Who(c)
	if p.How == ByNobody {
		return traveler.Fail(traveler.KindUnknown, "web.signin")
	}
	deeds := []traveler.Deed{}
	for _, d := range []traveler.Deed{
		traveler.DeedLook, traveler.DeedScan, traveler.DeedReady, traveler.DeedVerdict, traveler.DeedSettle,
		traveler.DeedRelease,
		traveler.DeedPlan, traveler.DeedEnrol, traveler.DeedAccounts,
	} {
		if traveler.May(p.Role, d) {
			deeds = append(deeds, d)
		}
	}
	if p.How == ByScreen && !crosses(c) {
		s.cookie(c, cookieScreen, c.Cookies(prefix(c)+cookieScreen), stationTime) // a wall hangs for years
	}
	out := me{
		Name: p.Name, Role: p.Role, How: p.How, May: deeds, Languages: traveler.Languages(), Open: s.Open,
		Version: s.Version,
		Zone:    ask.ZoneName(s.Zone), Currency: s.Currency, Pace: s.Pace, Now: s.Time(),
		PublicURL: s.PublicURL, EntryURL: s.EntryURL, Epoch: s.Desk.Epoch(),
		Servers: s.serversOf(), Sites: s.Sites,
	}
	if p.How == ByStation {
		var row pass
		if ok, err := s.row(tableStations, p.Key, &row); err == nil && ok {
			out.Machine, out.Device = &row.Machine, &row.Device
		}
	}
	return c.JSON(out)
}
