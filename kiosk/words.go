package kiosk

import (
	"strconv"
	"strings"
)

// words is what a step is called on its button, in English. {0} stands for the
// first argument. The page has the same keys in its own catalogue, so that it
// can say them in another language.
var words = map[string]string{
	"arrive":        "It is here",
	"setup":         "Begin set-up",
	"setup.again":   "Set up again",
	"firstoff":      "Hand over first piece",
	"verdict":       "Say how the first piece is",
	"run":           "Begin the run",
	"run.on":        "Run on",
	"stop":          "Stop",
	"stop.why":      "Stopped for another reason",
	"wait":          "Say why it waits",
	"count":         "Count pieces",
	"count.setup":   "Count set-up pieces",
	"finish":        "Finish here",
	"finish.all":    "Finish: all counted",
	"hold":          "Hold the batch",
	"free":          "Free the batch",
	"split":         "Split pieces off",
	"join":          "Join a split batch",
	"move":          "Carry elsewhere",
	"move.to":       "Carry to {0}",
	"move.here":     "Put it here",
	"send":          "Send out operation {0}",
	"send.part":     "Send some out",
	"receive":       "Received back",
	"decide":        "Decide the review of operation {0}",
	"concession":    "Concession for operation {0}",
	"drawing.use":   "Go on with drawing {0}",
	"drawing.stop":  "Do not go on",
	"deliver":       "Deliver {0} pieces",
	"deliver.part":  "Deliver some",
	"rework.setup":  "Set up rework of operation {0}",
	"rework.run":    "Begin rework of operation {0}",
	"rework.arrive": "Rework of operation {0} is here",
	"undo":          "Take the last one back",
	"key.next":      "The big button",
	"key.all":       "All that are left",
	"key.ok":        "Done",
	"key.back":      "Back",
}

// word fills the arguments into what a key is called.
func word(key string, args ...string) string {
	s := words[key]
	for i, a := range args {
		s = strings.ReplaceAll(s, "{"+strconv.Itoa(i)+"}", a)
	}
	return s
}
