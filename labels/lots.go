package labels

import "strings"

// maxLots is more than two lines can ever hold.
const maxLots = 100

// lots joins the material lots that fit on n lines and counts the others, so
// that a lot is not cut through while there are several.
func (t Texts) lots(lots []string, w float64, n int, k ink) []string {
	var clear []string
	for _, l := range lots {
		if l = clean(l); l != "" {
			clear = append(clear, l)
		}
	}
	for shown := min(len(clear), maxLots); shown > 0; shown-- {
		s, more := strings.Join(clear[:shown], ", "), ""
		if shown < len(clear) {
			more = "+ " + count(len(clear)-shown) + " " + t.say("more_lots")
		}
		got := wrap(joined(" ", s, more), w, n, k.width)
		if !loses(joined(" ", s, more), got) {
			return got
		}
		if shown == 1 { // too long even alone: what is cut must not be the count
			return wrap(joined(": ", more, s), w, n, k.width)
		}
	}
	return nil
}
