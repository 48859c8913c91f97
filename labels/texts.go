package labels

// Texts holds the printed words by key. A missing key falls back to English,
// so a translation may be partial. The keys are those of English.
type Texts map[string]string

var english = Texts{
	"works_order":  "Works order",
	"part":         "Part",
	"drawing_rev":  "Drawing rev.",
	"pieces":       "Pieces",
	"wanted":       "wanted",
	"due":          "Due",
	"no_due":       "no date",
	"week":         "week",
	"material":     "Material",
	"lots":         "Material lots",
	"more_lots":    "more",
	"customer":     "Customer",
	"order_line":   "Order line",
	"route_rev":    "Route rev.",
	"priority":     "Priority",
	"card":         "Card",
	"operation":    "Operation",
	"good":         "Good",
	"scrap":        "Scrap",
	"who":          "Initials",
	"machine":      "Machine",
	"setup":        "set-up",
	"min":          "min",
	"min_piece":    "min each",
	"a_cycle":      "a cycle",
	"clamping":     "clamping",
	"clampings":    "clampings",
	"first_off":    "first-off",
	"outside":      "outside",
	"day":          "day",
	"days":         "days",
	"no_ops":       "No operations are planned on this card.",
	"notes":        "Notes",
	"page":         "Page",
	"of":           "of",
	"printed":      "Printed",
	"record":       "record",
	"release":      "This card does not release parts. Only the authorised inspector does.",
	"quarantine":   "Scrap or rework written here does not replace the shop's own quarantine: set the parts aside as its procedure says.",
	"isolation":    "The screen does not stop a machine. Before setting, clearing or measuring, follow the machine's own isolation procedure and local rules.",
	"test_title":   "Scanner test card",
	"test_how":     "Open the station, choose \"set up this scanner\", and read the code below once. The station then knows which character each key of this scanner gives. Read it again after the scanner or the language of the keyboard was changed.",
	"test_expect":  "The scanner should type these characters, and then Enter:",
	"badges":       "Badges",
	"plates":       "Machine labels",
	"plate_how":    "Read to say which machine this station stands at.",
	"actions":      "Action sheet",
	"actions_how":  "Scan the job card, then the action.",
	"sun":          "Sun",
	"mon":          "Mon",
	"tue":          "Tue",
	"wed":          "Wed",
	"thu":          "Thu",
	"fri":          "Fri",
	"sat":          "Sat",
	"date":         "2006-01-02",
	"date_time":    "2006-01-02 15:04",
	"decimal_sign": ".",
}

// English returns a new copy of the English words, for use or as the list of
// keys to translate. The values of date and date_time are layouts of package time.
func English() Texts {
	t := make(Texts, len(english))
	for k, v := range english {
		t[k] = v
	}
	return t
}

// say returns the cleaned words of key: a translation is input like any other.
func (t Texts) say(key string) string {
	if s := clean(t[key]); s != "" {
		return s
	}
	return english[key]
}
