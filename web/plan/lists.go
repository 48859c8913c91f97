package plan

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/lists"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// listColumn is a column that a list has.
type listColumn struct {
	Name   string `json:"name"`
	Needed bool   `json:"needed"`
}

// listTable is a list as it stands now, to be changed in a table.
type listTable struct {
	Kind    string       `json:"kind"`
	Columns []listColumn `json:"columns"`
	Rows    [][]string   `json:"rows"`
}

// lookedAt is what a list comes to: what is new, changed and as it was, or why it is
// refused.
type lookedAt struct {
	Kind    string       `json:"kind"`
	Columns []listColumn `json:"columns"`
	// The file's own headers, and those of them that are no column and were not matched
	// to one.
	Headers []string          `json:"headers"`
	Unknown []string          `json:"unknown"`
	Matched map[string]string `json:"matched"` // headers in lower case, and the columns that they are; empty = passed over
	New     int               `json:"new"`
	Changed int               `json:"changed"`
	Same    int               `json:"same"`
	Lines   []listLine        `json:"lines"` // those that are new or changed come first; at most 300
	Refused []listProblem     `json:"refused"`
	Faults  int               `json:"faults"` // all that is refused, listed or not
	Taken   bool              `json:"taken"`
}

// listLine is one thing of a list.
type listLine struct {
	Key     string   `json:"key"`
	What    string   `json:"what" api:"enum=new|changed|same"`
	Changes []string `json:"changes,omitempty"` // before > after
}

// listProblem is one place in a list that can't be right.
type listProblem struct {
	Line   int    `json:"line"`
	Column string `json:"column,omitempty"`
	Value  string `json:"value,omitempty"`
	Reason string `json:"reason"`
}

const mostLines = 300

// tableHeaders keeps which headers stood for which columns the last time.
const tableHeaders = "list-headers"

// listRoom is where a list is taken, for who asks; it fails for a kind that is none and
// for who may not.
func (s *room) listRoom(c *fiber.Ctx) (*lists.Room, string, error) {
	kind, p := ask.PathParam(c, "list"), door.Who(c)
	deed := traveler.DeedPlan
	switch {
	case !slices.Contains(lists.Kinds, kind):
		return nil, "", traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	case kind == "people":
		deed = traveler.DeedAccounts
	case kind == "batches":
		deed = traveler.DeedRelease
	}
	if !traveler.May(p.Role, deed) {
		return nil, "", traveler.Fail(traveler.KindForbidden, "web.role", string(p.Role))
	}
	return &lists.Room{
		Desk: s.Desk, Tables: s.Tables, Zone: s.Zone, ZoneName: ask.ZoneName(s.Zone), Now: s.Time,
		Random: s.Rand,
		By:     traveler.Actor{Name: p.Name, Role: p.Role},
	}, kind, nil
}

// getList is a list as it stands, for a table on a page.
func (s *room) getList(c *fiber.Ctx) error {
	r, kind, err := s.listRoom(c)
	if err != nil {
		return err
	}
	rows, err := r.Table(kind, c.Query("part"), c.Query("route_rev"))
	if err != nil {
		return err
	}
	return c.JSON(listTable{kind, columnsOf(kind), rows})
}

func columnsOf(kind string) (out []listColumn) {
	for _, x := range intake.Columns(kind) {
		out = append(out, listColumn(x))
	}
	return out
}

// getTemplate is a file with the header of a list, and what stands in it now if that is
// asked for.
func (s *room) getTemplate(c *fiber.Ctx) error {
	r, kind, err := s.listRoom(c)
	if err != nil {
		return err
	}
	f := intake.Format(c.Query("format", string(intake.CSV)))
	if f != intake.CSV && f != intake.XLSX {
		return traveler.Invalid("format", "select.choice", string(f), "csv, xlsx")
	}
	rows := [][]string{lists.Head(kind)}
	if c.Query("filled") != "" {
		now, err := r.Table(kind, c.Query("part"), c.Query("route_rev"))
		if err != nil {
			return err
		}
		rows = append(rows, now...)
	}
	var w bytes.Buffer
	if err := intake.WriteTable(&w, f, rows); err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, f.Media())
	c.Set(fiber.HeaderContentDisposition, `attachment; filename="`+kind+"."+string(f)+`"`)
	return c.Send(w.Bytes())
}

// postList looks at a list, and takes it if that is asked for.
func (s *room) postList(c *fiber.Ctx) error {
	r, kind, err := s.listRoom(c)
	if err != nil {
		return err
	}
	matched, err := s.matched(c, kind)
	if err != nil {
		return err
	}
	name := c.Query("file", kind)
	if !traveler.CleanText(name, traveler.MaxShort) {
		return traveler.Invalid("file", "form.text")
	}
	file := &intake.Renamed{Reader: bytes.NewReader(c.Body()), To: matched}
	plan, err := r.Look(kind, name, file)
	v := lookedAt{
		Kind: kind, Columns: columnsOf(kind), Headers: ask.Some(file.Found), Matched: matched,
		Unknown: unknown(kind, file.Found, matched),
		Lines:   []listLine{}, Refused: []listProblem{},
	}
	var bad *intake.Refused
	if errors.As(err, &bad) {
		v.Faults = bad.Total
		for _, p := range bad.Problems {
			v.Refused = append(v.Refused, listProblem{p.Line, p.Column, p.Value, p.Reason})
		}
		return c.JSON(v)
	}
	if err != nil {
		return err
	}
	v.New, v.Changed, v.Same, v.Lines = plan.New, plan.Changed, plan.Same, linesOf(plan)
	if c.Query("take") != "" {
		if err := r.Take(c.Context(), plan); err != nil {
			return err
		}
		v.Taken = true
		if err := rows.Write(s.Tables, tableHeaders, kind, matched); err != nil {
			return err
		}
	}
	return c.JSON(v)
}

// matched are the columns of headers: those that are named now, else as they were the
// last time.
func (s *room) matched(c *fiber.Ctx, kind string) (map[string]string, error) {
	out := map[string]string{}
	if _, err := rows.Read(s.Tables, tableHeaders, kind, &out); err != nil {
		return nil, err
	}
	if text := c.Query("headers"); text != "" {
		said := map[string]string{}
		if json.Unmarshal([]byte(text), &said) != nil {
			return nil, traveler.Invalid("headers", "form.text")
		}
		for h, column := range said {
			out[strings.ToLower(strings.TrimSpace(h))] = column
		}
	}
	return out, nil
}

// unknown are the headers that stand for no column.
func unknown(kind string, heads []string, matched map[string]string) []string {
	out := []string{}
	for _, h := range heads {
		name := strings.ToLower(strings.TrimSpace(h))
		if _, ok := matched[name]; !ok && name != "" && !slices.Contains(lists.Head(kind), name) {
			out = append(out, h)
		}
	}
	return out
}

// linesOf are the lines of a plan that are shown: those that change something first.
func linesOf(p *lists.Plan) []listLine {
	out := []listLine{}
	for _, what := range []string{lists.New, lists.Changed, lists.Same} {
		for _, l := range p.Lines {
			if l.What == what && len(out) < mostLines {
				out = append(out, listLine(l))
			}
		}
	}
	return out
}
