package ipp

import (
	"slices"
	"strings"

	"tallywalk/traveler/paper"
)

// Status codes of RFC 8011, 8.1 that mean something of their own here.
const (
	statusForbidden        = 0x0401
	statusNotAuthenticated = 0x0402
	statusNotAuthorized    = 0x0403
	statusNotFound         = 0x0406
	statusGone             = 0x0407
	statusFormat           = 0x040a
	statusValues           = 0x040b
	statusUnavailable      = 0x0502
	statusTemporary        = 0x0505
	statusNotAccepting     = 0x0506
	statusBusy             = 0x0507
	firstFault             = 0x0400
)

// refusalOf says what a status code of a refusal means; values that are not taken are
// the paper, since nothing else that is asked for is in question.
func refusalOf(code int) paper.Trouble {
	switch code {
	case statusForbidden, statusNotAuthenticated, statusNotAuthorized:
		return paper.TroubleAccess
	case statusFormat:
		return paper.TroubleFormat
	case statusValues:
		return paper.TroubleMedia
	case statusUnavailable, statusTemporary, statusNotAccepting, statusBusy:
		return paper.TroubleBusy
	}
	return paper.TroubleRefused
}

// reasons are the keywords of printer-state-reasons and job-state-reasons (RFC 8011,
// 5.4.12 and 5.3.8; PWG 5100.9) by what they come to; those that begin with one of
// these count too. The more particular stand first.
var reasons = []struct {
	begins string
	is     paper.Trouble
}{
	{"media-jam", paper.TroubleJam},
	{"cover-open", paper.TroubleOpen}, {"door-open", paper.TroubleOpen},
	{"interlock-open", paper.TroubleOpen},
	{"media-empty", paper.TroublePaperOut},
	{"media-needed", paper.TroubleMedia},
	{"media-low", paper.TroublePaperLow},
	{"input-tray-missing", paper.TroubleTray}, {"output-tray-missing", paper.TroubleTray},
	{"output-area-full", paper.TroubleFull}, {"output-area-almost-full", paper.TroubleFullSoon},
	{"toner-empty", paper.TroubleInk}, {"marker-supply-empty", paper.TroubleInk},
	{"developer-empty", paper.TroubleInk},
	{"toner-low", paper.TroubleInkLow}, {"marker-supply-low", paper.TroubleInkLow},
	{"developer-low", paper.TroubleInkLow},
	{"marker-waste-full", paper.TroubleInk},
	{"spool-area-full", paper.TroubleSpool},
	{"moving-to-paused", paper.TroublePaused}, {"paused", paper.TroublePaused},
	{"shutdown", paper.TroubleOff}, {"connecting-to-device", paper.TroubleOff},
	{"timed-out", paper.TroubleOff},
	{"offline", paper.TroubleOff},
	{"document-format-error", paper.TroubleFormat}, {"unsupported-document-format", paper.TroubleFormat},
	{"document-unprintable-error", paper.TroubleFormat},
	{"unsupported-attributes-or-values", paper.TroubleMedia},
}

// severity ends a reason (RFC 8011, 5.4.12).
var severities = []string{"-report", "-warning", "-error"}

// worst is the order in which troubles are reported.
var worst = []paper.Trouble{
	paper.TroubleJam, paper.TroubleOpen, paper.TroublePaperOut, paper.TroubleMedia, paper.TroubleTray,
	paper.TroubleFull,
	paper.TroubleInk, paper.TroubleSpool, paper.TroublePaused, paper.TroubleOff, paper.TroubleFormat,
	paper.TroublePaperLow,
	paper.TroubleInkLow, paper.TroubleFullSoon, paper.TroubleOther,
}

// troublesOf says what a printer's reasons come to, each once and the worst first. A
// printer out of paper also says that it needs some: that is one trouble.
func troublesOf(said []string) []paper.Trouble {
	has := map[paper.Trouble]bool{}
	for _, s := range said {
		if t := troubleOf(s); t != "" {
			has[t] = true
		}
	}
	if has[paper.TroublePaperOut] {
		delete(has, paper.TroubleMedia)
	}
	var all []paper.Trouble
	for _, t := range worst {
		if has[t] {
			all = append(all, t)
		}
	}
	return all
}

func troubleOf(said string) paper.Trouble {
	for _, r := range reasons {
		if strings.HasPrefix(said, r.begins) {
			return r.is
		}
	}
	for _, end := range severities {
		if end != "-report" && strings.HasSuffix(said, end) {
			return paper.TroubleOther
		}
	}
	return ""
}

// both joins the troubles of a job with those of its printer.
func both(a, b []paper.Trouble) []paper.Trouble {
	var all []paper.Trouble
	for _, t := range worst {
		if slices.Contains(a, t) || slices.Contains(b, t) {
			all = append(all, t)
		}
	}
	return all
}
