package desk

import (
	"maps"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// silence is how long a device may say nothing before it is forgotten: then
// nothing bounds its clock but the release of its batch.
const silence = 90 * 24 * time.Hour

// bound notes in a scan when its device spoke before it.
func (w *writer) bound(e *traveler.Entry) {
	s := e.Scan
	if s.Device == "" || s.N == 0 {
		return
	}
	last, ok := w.devices[s.Device]
	if ok && s.N > last.N && !last.At.After(e.Clocked()) { // else it spoke while the server's clock was wrong
		e.NotBefore = last.At
	}
}

// noteDevice notes what a device has said last: its highest number, or a lower one
// that it said later, since then its counter began again.
func (w *writer) noteDevice(e *traveler.Entry) {
	s := e.Scan
	if s == nil || s.Device == "" || s.N == 0 || s.Happened != nil {
		return
	}
	at := s.Clock()
	if at.After(e.Clocked()) || (s.IsPresent() && e.Clocked().Sub(at) > traveler.FarClock) {
		at = e.Clocked()
	}
	if at.Before(e.NotBefore) {
		at = e.NotBefore
	}
	if last, ok := w.devices[s.Device]; !ok || s.N > last.N || at.After(last.At) {
		w.devices[s.Device] = story.Spoken{N: s.N, At: at}
	}
}

// forgetDevices drops the devices that have said nothing for long.
func (w *writer) forgetDevices() {
	maps.DeleteFunc(w.devices,
		func(_ traveler.DeviceID, v story.Spoken) bool { return w.now.Sub(v.At) > silence })
}
