package live_test

import (
	"strings"
	"testing"

	"github.com/gorilla/websocket"

	"tallywalk/web/webtest"
)

// The waits board over the websocket: one whole, then changes, each with its
// sequence.
func TestLiveBoard(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	c, resp, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(r.Base, "http")+"/live?board=waits", nil)
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
	if err := c.ReadJSON(&msg); err != nil || msg.Whole || msg.Seq <= first || len(msg.Set) != 1 || len(msg.Gone) != 1 || msg.Gone[0] != card+"/10/work" {
		t.Fatalf("%+v %v", msg, err)
	}
	for _, x := range msg.Set {
		if x.Kind != "work" || x.State != "setting" || x.Machine != "T1" || x.Card != card {
			t.Errorf("%+v", x)
		}
	}
}
