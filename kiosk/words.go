package kiosk

import (
	"strconv"
	"strings"
)

// words is what a step is called on its button, in English. {0} stands for the
// first argument. The page has the same keys in its own catalogue, so that it
// can say them in another language.
var words = map[string]string{
	"arrive":           "Arrived",
	"setup":            "Start set-up",
	"setup.again":      "Re-set",
	"setup.anyway":     "Set up op {0} here anyway",
	"firstoff":         "Submit first-off",
	"verdict":          "First-off: pass or reject",
	"run":              "Start run",
	"run.on":           "Carry on running",
	"run.anyway":       "Run op {0} here anyway",
	"stop":             "Stop",
	"stop.why":         "Stopped for another reason",
	"wait":             "Say why it waits",
	"ready":            "Check what is there",
	"count":            "Count pieces",
	"count.setup":      "Book set-up pieces",
	"finish":           "Finish this op",
	"finish.all":       "Finish op: {0} good, all counted",
	"hold":             "Hold the batch",
	"free":             "Release from hold",
	"split":            "Split pieces off",
	"join":             "Join a split batch",
	"move":             "Move batch",
	"move.to":          "Move to {0}",
	"move.here":        "Leave it here",
	"move.planned":     "Op {0} is planned at {1}: move there",
	"send":             "Send out op {0}",
	"send.part":        "Send some out",
	"receive":          "Received back",
	"decide":           "Decide the pieces on hold at op {0}",
	"concession":       "Concession for op {0}",
	"drawing.use":      "Go on with drawing {0}",
	"drawing.stop":     "Do not go on",
	"deliver":          "Deliver {0} pieces",
	"deliver.part":     "Deliver some",
	"rework.setup":     "Set up rework of op {0}",
	"rework.run":       "Start rework of op {0}",
	"rework.arrive":    "Rework of op {0} arrived",
	"sheet.send":       "Send out",
	"sheet.decide":     "Decide pieces on hold",
	"sheet.deliver":    "Deliver",
	"sheet.concession": "Concession",
	"sheet.waits":      "waits",
	"sheet.ready":      "is missing",
	"sheet.5":          "5 min ago",
	"sheet.15":         "15 min ago",
	"sheet.30":         "30 min ago",
	"sheet.60":         "1 h ago",
	"sheet.break":      "At the last break",
	"sheet.end":        "At the end of the shift",
	"when.now":         "now",
	"pass":             "First-off passed",
	"good":             "good",
	"scrap":            "scrap",
	"rework":           "rework",
	"review":           "review",
	"missing":          "missing",
	"reads":            "counter reads",
	"undo":             "Undo last scan",
	"who.firstoff":     "First-off of op {0} waits for an inspector",
	"who.free":         "On hold: only an inspector can release it",
	"who.drawing":      "A supervisor decides about the drawing",
	"who.review":       "Pieces on hold at op {0} wait for an inspector",
	"key.next":         "The big button",
	"key.all":          "All that are left",
	"key.ok":           "Done",
	"key.back":         "Back",
}

// word fills the arguments into what a key is called.
func word(key string, args ...string) string {
	s := words[key]
	for i, a := range args {
		s = strings.ReplaceAll(s, "{"+strconv.Itoa(i)+"}", a)
	}
	return s
}
