package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"tallywalk/traveler"
	"tallywalk/web"
)

// caller is one way to be known.
type caller struct {
	name string
	*rig
	admin bool
}

// callers are all kinds of those who ask: each role by a token, a station, a
// wall screen, an account, and nobody.
func (p *past) callers(t *testing.T) (out []caller) {
	t.Helper()
	admin := p.as(traveler.RoleAdministrator)
	for _, role := range []traveler.Role{traveler.RoleOperator, traveler.RoleInspector,
		traveler.RoleSupervisor, traveler.RolePlanner} {
		out = append(out, caller{string(role), p.as(role), false})
	}
	tablet, wall, ada := p.visitor(), p.visitor(), p.visitor()
	var enrol struct{ Code string }
	admin.do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet", "machine": "T1"}, &enrol)
	tablet.do("POST", "/api/v1/enrol", map[string]any{"code": enrol.Code}, nil)
	var screen struct{ Link string }
	admin.do("POST", "/api/v1/screens", map[string]any{"name": "Hall"}, &screen)
	wall.do("GET", screen.Link[strings.Index(screen.Link, "/wall/"):], nil, nil)
	ada.do("POST", "/api/v1/sign-in", map[string]any{"name": "Ada", "password": "long enough for this"}, nil)
	return append(out, caller{"station", tablet, false}, caller{"screen", wall, false},
		caller{"account", ada, true}, caller{"administrator", admin, true},
		caller{"nobody", p.visitor(), false})
}

// posts are bodies for the ways into the API that take one; a new one must be
// put here, with what brings the fullest answer.
var posts = map[string]string{
	"/api/v1/copies": `{}`, "/api/v1/clock": `{"right":true}`, "/api/v1/language": `{"language":"de"}`,
	"/api/v1/sign-in": `{"name":"Ada","password":"wrong all the same"}`, "/api/v1/sign-out": `{}`,
	"/api/v1/first": `{"code":"x","name":"x","password":"x"}`, "/api/v1/enrol": `{"code":"x"}`,
	"/api/v1/ground/plan": `{"corners":[],"aisles":[]}`, "/api/v1/ground/pictures": `<svg/>`,
	"/api/v1/calendars": `{"calendar":"x","turns":[],"dry":true}`,
	"/api/v1/machines":  `{"machine":"T1"}`, "/api/v1/routes": `{}`, "/api/v1/crossing": `{}`,
	"/api/v1/compare":            `{"part":"1001-04","size":10,"routes":[{"route_rev":"1"},{"route_rev":"1","one_off":1}]}`,
	"/api/v1/compare/page.pdf":   `{"part":"1001-04","size":10,"routes":[{"route_rev":"1"},{"route_rev":"1","one_off":1}]}`,
	"/api/v1/compare/sheet.xlsx": `{"part":"1001-04","size":10,"routes":[{"route_rev":"1"},{"route_rev":"1","one_off":1}]}`,
	"/api/v1/compare/release":    `{}`, "/api/v1/machine-case": `{}`, "/api/v1/scans": "",
	"/api/v1/people/:ref/badge": `{}`,
	"/api/v1/batches":           `{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ab","part":"1001-04","route_rev":"1","pieces":5}`,
	"/api/v1/enrol-codes":       `{"name":"x"}`, "/api/v1/screens": `{"name":"x"}`,
	"/api/v1/accounts": `{"name":"x","password":"long enough for this","role":"operator"}`,
	"/api/v1/tokens":   `{"role":"operator"}`, "/api/v1/ahead/rules": `{"rule":"due"}`,
	"/api/v1/what-if":          `{}`,
	"/api/v1/lists/:list":      "person,name,role\n11,Someone else,operator\n12,Another,operator\n",
	"/api/v1/questions/follow": `{"questions":[{"card":"W-501","question":"x"}]}`,
	"/api/v1/printers":         `{"name":"x","address":"ipp://127.0.0.1:1"}`,
	"/api/v1/printing":         `{"printer":""}`,
	"/api/v1/prints":           `{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ab","printer":"x","kind":"card","cards":["W-501"],"size":"A5"}`,
	"/api/v1/prints/:id":       `{"do":"cancel"}`,
	"/api/v1/promise":          `{"lines":[{"part":"1001-04","pieces":10}]}`,
}

// gets are the addresses to ask for a way in, where it is not the path itself.
var gets = map[string][]string{
	"/api/v1/lists/:list/template":   {"machines/template", "people/template"},
	"/api/v1/lists/:list":            {"people", "machines", "reasons"},
	"/api/v1/batches/:code":          {"W-501", "W-502", "W-503"},
	"/api/v1/batches/:code/story":    {"W-501/story", "W-502/story", "W-503/story"},
	"/api/v1/batches/:code/card.pdf": {"W-501/card.pdf"},
	"/api/v1/batches/:code/makeup":   {"W-501/makeup", "W-502/makeup"},
	"/api/v1/sheets/:kind": {"scanner.pdf", "badges.pdf", "plates.pdf", "actions.pdf?machine=T1",
		"trust.pdf", "devices.pdf"}, "/api/v1/station/:machine": {"T1", "Q1"},
	"/api/v1/station/:machine/known": {"T1/known", "Q1/known"},
	"/api/v1/station/:machine/card":  {"T1/card?ref=W-501", "T1/card?ref=W-503"},
	"/api/v1/people/:ref":            {"11", "12", "51"},
	"/api/v1/export/:what": {"batches", "visits", "scans", "scans?format=jsonl",
		"scans?format=xlsx", "visits?format=xlsx"}, "/api/v1/ground/pictures/:ref": {"x"},
	"/api/v1/pace/operation": {"operation?part=1001-04&route_rev=1&operation=10"},
	"/api/v1/ground/walk":    {"walk?from=T1&to=F1"},
	"/api/v1/changes":        {"changes?part=1001-04&before=1&after=2"},
	"/api/v1/compare":        {"compare?part=1001-04"}, "/api/v1/trace": {"trace?q=H71", "trace?q=W-502"},
	"/api/v1/sites/waits": {"waits?site=hall"}, "/api/v1/sites/compare": {"compare?part=1001-04"},
	"/api/v1/printers/:id": {"x"},
	"/api/v1/batches/:code/label.pdf": {"W-501/label.pdf", "W-501/label.pdf?kind=review",
		"W-502/label.pdf?kind=scrap&size=62"},
	"/live": {"live?board=waits", "live?board=ground", "live?board=pace"},
}

// apiRoutes are the method and path of each way into the API.
func apiRoutes(t testing.TB) (out [][2]string) {
	t.Helper()
	var doc struct {
		Paths map[string]map[string]any
	}
	if err := json.Unmarshal(web.OpenAPI(), &doc); err != nil {
		t.Fatal(err)
	}
	for path, item := range doc.Paths {
		for method := range item {
			out = append(out,
				[2]string{strings.ToUpper(method), strings.NewReplacer("{", ":", "}", "").Replace(path)})
		}
	}
	return out
}

// asksOf is what is asked of one way in.
func asksOf(t *testing.T, method, path string) []string {
	t.Helper()
	if list := gets[path]; method == "GET" && list != nil {
		base := path[:strings.LastIndex(path, "/")+1]
		if i := strings.Index(path, ":"); i >= 0 {
			base = path[:i]
		}
		out := make([]string, len(list))
		for i := range list {
			out[i] = base + list[i]
		}
		return out
	}
	if strings.Contains(path, ":") && method == "GET" {
		t.Fatalf("say in gets what to ask of %s", path)
	}
	return []string{
		strings.NewReplacer(":list", "people", ":ref", "11", ":id", "none", ":name", "nobody").Replace(path)}
}

// answerOf is all that is answered, as text.
func (c *caller) answerOf(t *testing.T, method, path, body string) string {
	t.Helper()
	req, err := http.NewRequest(method, c.base+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	if c.token != "" {
		req.Header.Set("Authorization", "Bearer "+c.token)
	}
	client := http.DefaultClient
	if c.client != nil {
		client = c.client
	}
	resp, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	switch kind := resp.Header.Get("Content-Type"); {
	case kind == "application/pdf":
		return pdfText(t, raw)
	case strings.Contains(kind, "spreadsheet"):
		return unzipped(t, raw)
	}
	return string(raw)
}

// unzipped is all that is in a workbook.
func unzipped(t *testing.T, raw []byte) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(&out, r); err != nil {
			t.Fatal(err)
		}
		_ = r.Close()
	}
	return out.String()
}

// boardOf is the first that a board says over its socket; empty for those who
// may not look.
func (c *caller) boardOf(t *testing.T, path string) string {
	t.Helper()
	h := http.Header{}
	if c.token != "" {
		h.Set("Authorization", "Bearer "+c.token)
	}
	d := websocket.Dialer{}
	if c.client != nil {
		d.Jar = c.client.Jar
	}
	ws, resp, err := d.Dial("ws"+strings.TrimPrefix(c.base, "http")+path, h)
	if err != nil {
		return ""
	}
	defer func() { _, _ = ws.Close(), resp.Body.Close() }()
	_, b, err := ws.ReadMessage()
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// leaks finds the secrets in an answer.
func (p *past) leaks(text string) (out []string) {
	lower := strings.ToLower(text)
	for secret, what := range p.secrets {
		if strings.Contains(lower, strings.ToLower(secret)) {
			out = append(out, what)
		}
	}
	slices.Sort(out)
	return out
}

// mayShow are the answers that are there to give badges out, to administrators.
func mayShow(method, path string) bool {
	switch method + " " + path {
	case "GET /api/v1/people", "GET /api/v1/sheets/badges.pdf", "POST /api/v1/people/11/badge":
		return true
	}
	return false
}

// The code of a badge lets someone act in another's role, so it is in no answer
// of any way in, whoever asks: every route of the table, every role, every
// format. Of passwords and secrets no answer has the hash. Administrators see
// codes where badges are printed.
func TestNoAnswerShowsBadges(t *testing.T) {
	t.Parallel()
	p := pastShop(t)
	again, err := json.Marshal(map[string]any{"scans": p.scans})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, c := range p.callers(t) {
		for _, x := range apiRoutes(t) {
			body, known := posts[x[1]]
			if x[0] == "POST" && !known {
				t.Fatalf("say in posts what to send to %s", x[1])
			}
			if x[1] == "/api/v1/scans" {
				body = string(again)
			}
			if x[0] == "GET" {
				body = ""
			}
			for _, path := range asksOf(t, x[0], x[1]) {
				if x[1] == "/api/v1/sign-out" && c.client != nil {
					continue // goes on being who it is
				}
				text := ""
				if x[1] == "/live" {
					text = c.boardOf(t, "/"+path[1:])
				} else {
					text = c.answerOf(t, x[0], path, body)
				}
				got := p.leaks(text)
				if c.admin && mayShow(x[0], path) {
					seen[path] = seen[path] || len(got) > 0
				} else if len(got) > 0 {
					t.Errorf("%s %s for %s shows %v", x[0], path, c.name, got)
				}
			}
		}
	}
	for _, path := range []string{"/api/v1/people", "/api/v1/sheets/badges.pdf"} {
		if !seen[path] {
			t.Errorf("the search finds no code in %s, where codes are: it finds nothing anywhere", path)
		}
	}
	for _, f := range []string{"csv", "jsonl", "xlsx"} {
		text := p.cli("export", "scans", "--format", f)
		if f == "xlsx" {
			text = unzipped(t, []byte(text))
		}
		if got := p.leaks(text); len(got) > 0 {
			t.Errorf("export scans as %s shows %v", f, got)
		}
		if n := strings.Count(p.cli("export", "scans", "--format", "csv"), ",31,"); n != 1 {
			t.Errorf("the export has the scan of 31 %d times by number", n)
		}
	}
	if got := p.leaks(p.cli("verify", "--figures")); len(got) > 0 {
		t.Errorf("verify shows %v", got)
	}
}

// People appear by name to those who may settle what they said, to others by
// number; a number that was typed gives no name at a station.
func TestPeopleByNameOrNumber(t *testing.T) {
	t.Parallel()
	p := pastShop(t)
	for role, named := range map[traveler.Role]bool{
		traveler.RoleOperator: false, traveler.RoleInspector: false, traveler.RolePlanner: false,
		traveler.RoleSupervisor: true, traveler.RoleAdministrator: true,
	} {
		var story struct {
			Batch struct{ Visits []struct{ People []string } }
			Lines []struct {
				Who  string
				Scan struct{ Operator, Note string }
			}
		}
		x := p.as(role)
		x.do("GET", "/api/v1/batches/W-501/story", nil, &story)
		var known struct{ Person, Name string }
		if got := x.do("GET", "/api/v1/people/31", nil, &known); got == 200 &&
			(known.Person != "31" || (known.Name != "") != named) {
			t.Errorf("%s learns of the number 31: %+v", role, known)
		}
		if len(story.Lines) != 7 || len(story.Batch.Visits) != 1 {
			t.Fatalf("%s: %+v", role, story)
		}
		if got := story.Batch.Visits[0].People; !slices.Equal(got, []string{"31", "11", "12"}) {
			t.Errorf("%s sees the people of a visit as %v", role, got)
		}
		for _, l := range story.Lines {
			if number := l.Scan.Operator; !slices.Contains([]string{"11", "12", "31", "51"}, number) ||
				(l.Who != "") != named {
				t.Errorf("%s sees %+v", role, l)
			}
			if l.Scan.Note != "" && l.Scan.Note != "by 51, he says" {
				t.Errorf("%s reads %q", role, l.Scan.Note)
			}
		}
	}
}

// A scan is kept with the number of the person, and the role that the badge
// lent. Sent again with the badge it is answered again, and so is one that an
// earlier version kept with the code; an export, too, is taken as what is there.
func TestBadgesStayOutOfTheRecord(t *testing.T) {
	t.Parallel()
	p := pastShop(t)
	all := p.callers(t)
	tablet, admin := all[4].rig, all[len(all)-2].rig
	hold := said{"id": newID(), "at": time.Now().UTC().Format(time.RFC3339Nano), "station": "T1",
		"card": "W-503", "action": "hold", "operator": p.codes["31"], "reason": "limit"}
	for i := range 2 {
		if a := tablet.scan(hold)[0]; a.Outcome != "kept" || a.Again != (i == 1) {
			t.Errorf("time %d: %+v", i, a)
		}
	}
	hold["operator"] = "51"
	var clash struct{ Detail string }
	if got := tablet.do("POST", "/api/v1/scans", map[string]any{"scans": []said{hold}},
		&clash); got != http.StatusConflict {
		t.Errorf("the same id by someone else: %d", got)
	}
	for i, s := range p.scans {
		var out struct{ Results []answer }
		if got := admin.do("POST", "/api/v1/scans", map[string]any{"scans": []traveler.Scan{s}},
			&out); got != 200 || !out.Results[0].Again {
			t.Errorf("old scan %d, sent again: %d %+v", i, got, out.Results)
		}
	}
	// A note or a reason that held a code is another text in the list: the one thing
	// that an export does not bring back.
	held := regexp.MustCompile(`he says|asked 31|by 12|ask51`)
	exported := slices.DeleteFunc(strings.SplitAfter(p.cli("export", "scans"), "\n"), held.MatchString)
	if said := p.cli("import", "scans",
		p.written("scans.jsonl", strings.Join(exported, ""))); !strings.HasPrefix(said,
		"0 scans imported, 7 were there already") {
		t.Error(said)
	}

	// The badge that was replaced says so, lends nothing, and still says who it was.
	if say := tablet.refused("GET", "/api/v1/people/"+p.codes["12"], nil, 403); !strings.Contains(say,
		"replaced") || strings.Contains(say, p.codes["12"]) {
		t.Error(say)
	}
	var given struct{ Person, Code string }
	if got := admin.do("POST", "/api/v1/people/31/badge", map[string]any{}, &given); got != 201 ||
		given.Person != "31" || given.Code == "" || given.Code == p.codes["31"] {
		t.Fatalf("another badge: %d %+v", got, given)
	}
	free := said{"station": "T1", "card": "W-503", "action": "free", "operator": p.codes["31"]}
	if a := tablet.scan(free)[0]; a.Outcome != "refused" || strings.Contains(a.Say, p.codes["31"]) {
		t.Errorf("a badge that was replaced: %+v", a)
	}
	if a := tablet.scan(
		said{"station": "T1", "card": "W-503", "action": "free",
			"operator": given.Code})[0]; a.Outcome != "kept" {
		t.Errorf("the new badge: %+v", a)
	}
	p.stop()
	hs, err := openHouse(p.dir, p.host)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = hs.close() }()
	if err := hs.desk.Entries(1, func(e *traveler.Entry) bool {
		if s := e.Scan; s != nil && e.By.Name == "Tablet" && s.Card == "W-503" &&
			s.Action != traveler.ActFinish {
			if s.Operator != "31" ||
				(e.By.Role != traveler.RoleInspector) != (e.Outcome == traveler.Refused) {
				t.Errorf("kept as %s by %s in the role %s: %s", s.Action, s.Operator, e.By.Role, e.Outcome)
			}
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
}
