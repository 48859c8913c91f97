package live_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/gorilla/websocket"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// The waits board over the websocket: one whole, then changes, each with its
// sequence.
func TestLiveBoard(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	c, resp, err := websocket.DefaultDialer.Dial(
		"ws"+strings.TrimPrefix(r.Base, "http")+"/live?board=waits", nil,
	)
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	defer func() { _ = c.Close() }()
	type row struct {
		Kind, State, Card, Machine, Reason string
		Operation                          int
	}
	var msg struct {
		Whole bool
		Seq   int
		Rows  map[string]row
		Set   map[string]row
		Gone  []string
	}
	if err := c.ReadJSON(&msg); err != nil || !msg.Whole || len(msg.Rows) != 3 {
		t.Fatalf("%+v %v", msg, err)
	}
	first := msg.Seq
	card := r.Card("W-502")
	if msg.Rows[card+"/10/work"].State != "waiting" {
		t.Fatalf("%+v", msg.Rows)
	}
	r.Scan(webtest.Said{"station": "T1", "card": card, "action": "setup"})
	msg.Whole, msg.Rows = false, nil
	if err := c.ReadJSON(&msg); err != nil || msg.Whole || msg.Seq <= first || len(msg.Set) != 1 ||
		len(msg.Gone) != 1 || msg.Gone[0] != card+"/10/work" {
		t.Fatalf("%+v %v", msg, err)
	}
	for _, x := range msg.Set {
		if x.Kind != "work" || x.State != "setting" || x.Machine != "T1" || x.Card != card {
			t.Errorf("%+v", x)
		}
	}
}

// A wall screen hangs where visitors stand: it gets the boards without the names of
// customers, whole and as they change; who is signed in gets them.
func TestWallsNameNoCustomer(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	boss := r.As(traveler.RoleSupervisor)
	release := func() {
		t.Helper()
		batch := map[string]any{
			"id": webtest.NewID(), "part": "1001-04", "route_rev": "1", "pieces": 5,
			"customer": "Quarry pumps",
		}
		if got := boss.Do("POST", "/api/v1/batches", batch, nil); got != 201 {
			t.Fatalf("release: %d", got)
		}
	}
	release()
	var screen struct{ Link string }
	boss.Do("POST", "/api/v1/screens", map[string]any{"name": "Hall"}, &screen)
	wall := r.Visitor()
	wall.Do("GET", screen.Link[strings.Index(screen.Link, "/wall/"):], nil, nil)
	names := func(whose *webtest.Rig) bool {
		t.Helper()
		var board json.RawMessage
		if got := whose.Do("GET", "/api/v1/waits", nil, &board); got != 200 {
			t.Fatalf("waits: %d", got)
		}
		return bytes.Contains(board, []byte("Quarry pumps"))
	}
	if names(wall) || !names(boss) {
		t.Errorf("the wall names the customer: %v, the page of a supervisor: %v", names(wall), names(boss))
	}
	at, err := url.Parse(r.Base)
	if err != nil {
		t.Fatal(err)
	}
	head := http.Header{}
	for _, c := range wall.HTTP.Jar.Cookies(at) {
		head.Add("Cookie", c.String())
	}
	c, resp, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(r.Base, "http")+"/live?board=waits",
		head)
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	defer func() { _ = c.Close() }()
	for _, what := range []string{"rows", "set"} {
		_, message, err := c.ReadMessage()
		if err != nil || !bytes.Contains(message, []byte(what)) ||
			!bytes.Contains(message, []byte("1001-04")) ||
			bytes.Contains(message, []byte("Quarry pumps")) {
			t.Errorf("%s: %s %v", what, message, err)
		}
		release()
	}
}

// A shop in which nothing waits has a board too, with all that its description requires;
// webtest holds the answer to it.
func TestBoardOfAnEmptyShop(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true, Empty: true})
	for _, board := range []string{"waits", "ground", "pace"} {
		if got := r.Do("GET", "/api/v1/"+board, nil, nil); got != 200 {
			t.Errorf("%s: %d", board, got)
		}
	}
}
