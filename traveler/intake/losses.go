package intake

import (
	"encoding/json"
	"strconv"
	"strings"

	"tallywalk/traveler"
)

const causedAt = " caused at "

// quoted puts a text in quotes where it could not be read back bare.
func quoted(s string) string {
	if s == "" || strings.Contains(s, ";") || strings.Contains(s, causedAt) || s[0] == '"' ||
		strings.TrimSpace(s) != s {
		return strconv.Quote(s)
	}
	return s
}

// lossText writes losses in a cell: 2 size; 1 burr caused at 10.
func lossText(l []traveler.Loss) string {
	if len(l) == 0 {
		return ""
	}
	parts := make([]string, len(l))
	for i, x := range l {
		parts[i] = strconv.Itoa(x.N) + " " + quoted(x.Reason)
		if x.CausedAt != 0 {
			parts[i] += causedAt + x.CausedAt.String()
		}
	}
	return strings.Join(parts, "; ")
}

// lossesOf reads what lossText wrote.
func lossesOf(s string) (out []traveler.Loss, ok bool) {
	for s != "" {
		var x traveler.Loss
		number, rest, found := strings.Cut(s, " ")
		n, err := strconv.Atoi(number)
		if err != nil || !found {
			return nil, false
		}
		x.N = n
		if x.Reason, rest, ok = reasonOf(rest); !ok {
			return nil, false
		}
		if after, yes := strings.CutPrefix(rest, causedAt); yes {
			op, _, _ := strings.Cut(after, ";")
			k, err := strconv.Atoi(op)
			if err != nil {
				return nil, false
			}
			x.CausedAt, rest = traveler.Op(k), after[len(op):]
		}
		out = append(out, x)
		if rest == "" {
			return out, true
		}
		if s, ok = strings.CutPrefix(rest, "; "); !ok {
			return nil, false
		}
	}
	return out, true
}

// reasonOf reads the reason that a text begins with.
func reasonOf(s string) (reason, rest string, ok bool) {
	if strings.HasPrefix(s, `"`) {
		q, err := strconv.QuotedPrefix(s)
		if err != nil {
			return "", "", false
		}
		reason, err = strconv.Unquote(q)
		return reason, s[len(q):], err == nil
	}
	end := len(s)
	for _, mark := range []string{";", causedAt} {
		if i := strings.Index(s, mark); i >= 0 {
			end = min(end, i)
		}
	}
	return s[:end], s[end:], true
}

// measuredText writes what was measured in a cell, as JSON.
func measuredText(l []traveler.Measured) string {
	if len(l) == 0 {
		return ""
	}
	text, err := json.Marshal(l)
	if err != nil {
		return "" // numbers that are none are never kept
	}
	return string(text)
}

// measuredOf reads what measuredText wrote.
func measuredOf(s string) (out []traveler.Measured, ok bool) {
	if s == "" {
		return nil, true
	}
	err := json.Unmarshal([]byte(s), &out)
	return out, err == nil
}
