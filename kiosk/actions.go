package kiosk

import (
	"cmp"
	"slices"

	"tallywalk/traveler"
)

// numbers gives each action its number on an action sheet, and each key that a
// station without touch needs. A number is never used for something else, since
// sheets hang on walls for years.
var numbers = map[string]uint64{
	string(traveler.ActArrive): 1, string(traveler.ActSetup): 2, string(traveler.ActFirstOff): 3,
	string(traveler.ActRun): 4, string(traveler.ActStop): 5, string(traveler.ActCount): 6,
	string(traveler.ActFinish): 7, string(traveler.ActHold): 8, string(traveler.ActFree): 9,
	string(traveler.ActSplit): 10, string(traveler.ActJoin): 11, string(traveler.ActMove): 12,
	string(traveler.ActSend): 13, string(traveler.ActReceive): 14, string(traveler.ActDecide): 15,
	string(traveler.ActCorrect): 16, string(traveler.ActUndo): 17, string(traveler.ActOverride): 18,
	string(traveler.ActDeliver): 19, string(traveler.ActCancel): 20, string(traveler.ActOn): 21,
	string(traveler.ActOff): 22, string(traveler.ActReady): 23,
	"key.next": 40, "key.all": 41, "key.ok": 42, "key.back": 43,
	"outcome.good": 60, "outcome.scrap": 61, "outcome.rework": 62, "outcome.review": 63,
	"outcome.missing": 64, "outcome.reads": 65,
	"when.now": 70, "when.5": 71, "when.15": 72, "when.30": 73, "when.60": 74, "when.break": 75,
	"when.end": 76,
	"wait":     80, "pass": 81, "concession": 82, "count.setup": 83,
	"0": 50, "1": 51, "2": 52, "3": 53, "4": 54, "5": 55, "6": 56, "7": 57, "8": 58, "9": 59,
}

// codeOf makes the code of a number. Each number stands for a block of 32
// codes, of which the first with a printable check character is the one meant.
func codeOf(name string) traveler.Code {
	n, ok := numbers[name]
	if !ok {
		return ""
	}
	for i := range uint64(32) {
		if c, ok := traveler.NewCode(traveler.KindAction, n<<5|i); ok {
			return c
		}
	}
	return ""
}

// ActionCode is the code of an action on an action sheet: always the same one,
// in every shop. It is empty for what is no action.
func ActionCode(a traveler.Action) traveler.Code { return codeOf(string(a)) }

// SheetCode is one code of an action sheet: what it is called, and what it
// stands for: an action, a digit, or a key (key.next, key.all, key.ok,
// key.back).
type SheetCode struct {
	Code traveler.Code
	Key  string // of the word in the catalogue of the station's page; empty for a digit
	Word string // in English
	Name string
}

// SheetGroup is the codes of a sheet that belong on one page. Key names it in the
// words of paper.
type SheetGroup struct {
	Key   string
	Codes []SheetCode
}

var onSheet = []struct {
	key   string
	names []string
}{
	{"actions_steps", []string{
		"key.next", "arrive", "setup", "firstoff", "pass", "run", "stop", "wait", "count", "count.setup",
		"finish", "move", "send",
		"receive", "split", "join", "hold", "free", "decide", "concession", "deliver", "undo", sheetReady,
	}},
	{"actions_counts", []string{
		"1", "2", "3", "outcome.good", "outcome.scrap", "4", "5", "6", "outcome.rework", "outcome.review",
		"7", "8", "9",
		"outcome.missing", "outcome.reads", "key.back", "0", "key.all", "key.ok",
		"when.now", "when.5", "when.15", "when.30", "when.60", "when.break", "when.end",
	}},
}

// sheetReady is on the sheets of shops that have a list of what must be there.
const sheetReady = string(traveler.ActReady)

// onSheetOnly are the codes whose names on a sheet differ from a button's, because a
// sheet does not know the batch, nor when it is read.
var onSheetOnly = map[string]string{
	"send": "sheet.send", "decide": "sheet.decide", "concession": "sheet.concession",
	"deliver":      "sheet.deliver",
	"outcome.good": "good", "outcome.scrap": "scrap", "outcome.rework": "rework", "outcome.review": "review",
	"outcome.missing": "missing", "outcome.reads": "reads", "when.5": "sheet.5", "when.15": "sheet.15",
	"when.30": "sheet.30",
	"when.60": "sheet.60", "when.break": "sheet.break", "when.end": "sheet.end",
}

// Sheet lists the codes that an action sheet shows, in the order they are met, and
// the shop's reasons after them. With them everything at a station can be said by
// scanning.
func Sheet(reasons []traveler.Reason) []SheetGroup {
	out := make([]SheetGroup, 0, len(onSheet)+1)
	checksReady := slices.ContainsFunc(reasons,
		func(r traveler.Reason) bool { return r.Kind == traveler.ReasonReady })
	for _, g := range onSheet {
		codes := make([]SheetCode, 0, len(g.names))
		for _, name := range g.names {
			if name == sheetReady && !checksReady {
				continue
			}
			key := cmp.Or(onSheetOnly[name], name)
			if words[key] == "" { // a digit
				key = ""
			}
			codes = append(codes, SheetCode{codeOf(name), key, cmp.Or(words[key], name), name})
		}
		out = append(out, SheetGroup{g.key, codes})
	}
	var codes []SheetCode
	for _, r := range reasons {
		if key, ok := whyOnSheet[r.Kind]; ok {
			codes = append(codes, SheetCode{traveler.ReasonCode(r.Kind, r.Code), key, r.Text, "why"})
		}
	}
	if len(codes) > 0 {
		out = append(out, SheetGroup{"actions_reasons", codes})
	}
	return out
}

// whyOnSheet are the kinds of reasons on a sheet, with what they are reasons for.
var whyOnSheet = map[string]string{
	"scrap": "scrap", "rework": "rework", "review": "review", "stop": "stop", "wait": "sheet.waits",
	traveler.ReasonReady: "sheet.ready",
}
