package ipp

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler/paper"
)

// fake is a printer that misbehaves as a test wants.
type fake struct {
	*httptest.Server
	operations []int
	reasons    []string
	state      int
	jobs       []string // their names; the first is job 1
	cut        int      // how much of a name is kept, in octets; 0 = all
	documents  [][]byte
	jobState   int
	status     map[int]int                                               // by operation: what is answered instead
	odd        func(w http.ResponseWriter, r *http.Request, op int) bool // answers by itself
}

func newFake(t *testing.T) *fake {
	t.Helper()
	f := &fake{
		operations: []int{opPrintJob, opValidateJob, opCreateJob, opSendDocument, opCancelJob, opGetJob,
			opGetJobs, opGetPrinter},
		state: 3, jobState: jobCompleted, status: map[int]int{},
	}
	f.Server = httptest.NewServer(f)
	t.Cleanup(f.Close)
	return f
}

func (f *fake) at() paper.Address {
	return paper.Address{URI: "ipp" + strings.TrimPrefix(f.URL, "http") + "/ipp/print"}
}

func (f *fake) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	m, err := decode(body)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	if f.odd != nil && f.odd(w, r, m.code) {
		return
	}
	a := message{code: f.status[m.code], id: m.id, groups: []group{{groupOperation, []attribute{
		texts("attributes-charset", tagCharset, "utf-8"),
		texts("status-message", tagText, "as the test has it"),
	}}}}
	if a.code < firstFault {
		a.groups = append(a.groups, f.groups(m, body)...)
	}
	w.Header().Set("Content-Type", mediaType)
	_, _ = w.Write(a.encode())
}

// groups are what is answered beside the status.
func (f *fake) groups(m *message, body []byte) []group {
	operation := m.first(groupOperation)
	switch m.code {
	case opGetPrinter:
		does := attribute{name: "operations-supported"}
		for _, o := range f.operations {
			does.values = append(does.values, number("", tagEnum, o).values...)
		}
		return []group{{groupPrinter, []attribute{
			does, number("printer-state", tagEnum, f.state),
			texts("printer-state-reasons", tagKeyword, f.reasons...),
			texts("document-format-supported", tagMedia, "image/urf", pdfType),
			texts("media-supported", tagKeyword, "iso_a5_148x210mm"),
			texts("print-scaling-supported", tagKeyword, "fit", "none"),
		}}}
	case opCreateJob, opPrintJob:
		name := operation.text("job-name")
		if f.cut > 0 {
			name = name[:min(f.cut, len(name))]
		}
		f.jobs = append(f.jobs, name)
		if m.code == opPrintJob {
			f.documents = append(f.documents, documentOf(body))
		}
		return []group{{groupJob, []attribute{number("job-id", tagInteger, len(f.jobs))}}}
	case opSendDocument:
		f.documents = append(f.documents, documentOf(body))
	case opGetJob:
		if id := operation.number("job-id", 0); id <= len(f.jobs) {
			return []group{{groupJob, []attribute{
				texts("job-name", tagName, f.jobs[id-1]), number("job-state", tagEnum, f.jobState),
				number("job-media-sheets-completed", tagInteger, 2),
			}}}
		}
	case opGetJobs:
		var all []group
		for i, name := range f.jobs {
			all = append(all,
				group{groupJob, []attribute{number("job-id", tagInteger, i+1),
					texts("job-name", tagName, name)}})
		}
		return all
	}
	return nil
}

// documentOf is what comes after the request.
func documentOf(body []byte) []byte {
	_, doc, _ := bytes.Cut(body, []byte("%PDF"))
	return append([]byte("%PDF"), doc...)
}

func document() *paper.Document {
	return &paper.Document{Name: "Card A 1", By: "Ada", PDF: []byte("%PDF-1.7 of a card"), Wide: 148,
		High: 210}
}

func none(int) error { return nil }

// send gives the fake a document and says what came of it.
func (f *fake) send(t *testing.T) (int, error) {
	t.Helper()
	return (&Client{Patience: 10 * time.Second}).Send(t.Context(), f.at(), document(), none)
}

func TestEitherWayOfSending(t *testing.T) {
	for _, drop := range [][]int{nil, {opCreateJob}, {opSendDocument, opValidateJob}} {
		f := newFake(t)
		f.operations = slices.DeleteFunc(f.operations, func(o int) bool { return slices.Contains(drop, o) })
		job, err := f.send(t)
		if err != nil || job != 1 || len(f.documents) != 1 || !bytes.Equal(f.documents[0], document().PDF) {
			t.Errorf("without %v: job %d, %v, %q", drop, job, err, f.documents)
		}
		p, err := (&Client{}).Look(t.Context(), f.at(), 1, document().Name)
		if err != nil || p.Stage != paper.StageDone || p.Sheets != 2 {
			t.Errorf("without %v: %+v, %v", drop, p, err)
		}
	}
}

// A printer that cuts names has the job all the same.
func TestCutNames(t *testing.T) {
	for _, cut := range []int{24, 38, 40} {
		f := newFake(t)
		f.cut = cut
		d := document()
		d.Name = paper.JobName("018f3b6e-7c1a-7b3e-9c4d-0123456789ad", 1, "W-501")
		c := &Client{Patience: 10 * time.Second}
		if _, err := c.Send(t.Context(), f.at(), d, none); err != nil {
			t.Fatal(err)
		}
		if job, err := c.Find(t.Context(), f.at(), d.Name); err != nil || job != 1 {
			t.Errorf("cut to %d: found as job %d, %v", cut, job, err)
		}
		if p, err := c.Look(t.Context(), f.at(), 1, d.Name); err != nil || p.Stage != paper.StageDone {
			t.Errorf("cut to %d: %+v, %v", cut, p, err)
		}
	}
}

// Each thing that may go wrong says whether the document can have been printed.
func TestWhatWentWrong(t *testing.T) {
	hang := func(w http.ResponseWriter) {
		c, _, err := http.NewResponseController(w).Hijack()
		if err == nil {
			_ = c.Close()
		}
	}
	raw := func(kind string, b []byte) func(http.ResponseWriter) {
		return func(w http.ResponseWriter) {
			w.Header().Set("Content-Type", kind)
			_, _ = w.Write(b)
		}
	}
	huge := bytes.Repeat([]byte{1, 1, 0, 0, 0, 0, 0, 1, groupJob}, mostAnswer/8)
	for name, x := range map[string]struct {
		at   int // the operation that goes wrong
		how  func(http.ResponseWriter)
		lost bool
	}{
		"hangs up when asked":     {opGetPrinter, hang, false},
		"hangs up before the job": {opCreateJob, hang, false},
		"hangs up after the PDF":  {opSendDocument, hang, true},
		"garbage after the PDF": {opSendDocument,
			raw(mediaType, []byte("\x01\x01garbage, and more of it")), true},
		"a web page after the PDF":   {opSendDocument, raw("text/html", []byte("<html>")), true},
		"an endless answer":          {opGetPrinter, raw(mediaType, huge), false},
		"an endless answer to a PDF": {opSendDocument, raw(mediaType, huge), true},
		"another's answer":           {opCreateJob, raw(mediaType, (&message{id: 99}).encode()), false},
		"a redirect": {opGetPrinter, func(w http.ResponseWriter) {
			w.Header().Set("Location", "http://127.0.0.1:1/")
			w.WriteHeader(http.StatusTemporaryRedirect)
		}, false},
	} {
		f := newFake(t)
		f.odd = func(w http.ResponseWriter, _ *http.Request, op int) bool {
			if op == x.at {
				x.how(w)
			}
			return op == x.at
		}
		_, err := f.send(t)
		lost, unsent := errors.As(err, new(*paper.Lost)), errors.As(err, new(*paper.Unsent))
		if lost != x.lost || unsent == x.lost {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A printer that takes its time is not waited for longer than the patience.
func TestSlowPrinter(t *testing.T) {
	f := newFake(t)
	done := make(chan struct{})
	t.Cleanup(func() { close(done) })
	f.odd = func(_ http.ResponseWriter, r *http.Request, _ int) bool {
		select {
		case <-done:
		case <-r.Context().Done():
		}
		return true
	}
	if _, err := (&Client{Patience: 50 * time.Millisecond}).Ask(t.Context(), f.at()); err == nil {
		t.Error("an answer came from nowhere")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := (&Client{}).Ask(ctx, f.at()); !errors.Is(err, context.Canceled) {
		t.Errorf("given up, and %v", err)
	}
}

// A refusal says why (RFC 8011, appendix B), and nothing was printed.
func TestRefusals(t *testing.T) {
	for code, want := range map[int]paper.Trouble{
		0x0400: paper.TroubleRefused, 0x0401: paper.TroubleAccess, 0x0403: paper.TroubleAccess,
		0x040a: paper.TroubleFormat,
		0x040b: paper.TroubleMedia, 0x0500: paper.TroubleRefused, 0x0502: paper.TroubleBusy,
		0x0506: paper.TroubleBusy, 0x0507: paper.TroubleBusy,
	} {
		for _, at := range []int{opValidateJob, opCreateJob, opSendDocument} {
			f := newFake(t)
			f.status[at] = code
			_, err := f.send(t)
			r := (*paper.Refusal)(nil)
			if !errors.As(err, &r) || r.Trouble != want || r.Code != code ||
				r.Message != "as the test has it" {
				t.Errorf("%#x at %#x: %v", code, at, err)
			}
		}
	}
	for status, want := range map[int]paper.Trouble{401: paper.TroubleAccess, 403: paper.TroubleAccess,
		503: paper.TroubleBusy} {
		f := newFake(t)
		f.odd = func(w http.ResponseWriter, _ *http.Request, _ int) bool {
			w.WriteHeader(status)
			return true
		}
		r := (*paper.Refusal)(nil)
		if _, err := f.send(t); !errors.As(err, &r) || r.Trouble != want {
			t.Errorf("HTTP %d: %v", status, err)
		}
	}
}

// The number of the job is kept before the document goes out, or nothing goes out.
func TestJobIsKeptFirst(t *testing.T) {
	f, full := newFake(t), errors.New("the disk is full")
	_, err := (&Client{}).Send(t.Context(), f.at(), document(), func(int) error { return full })
	if !errors.Is(err, full) || len(f.documents) > 0 {
		t.Errorf("%v, and %d documents went out", err, len(f.documents))
	}
}

// Over TLS a printer is held to the certificate that it showed first.
func TestCertificateIsHeld(t *testing.T) {
	f := newFake(t)
	secure := httptest.NewTLSServer(f)
	t.Cleanup(secure.Close)
	at := paper.Address{URI: "ipps" + strings.TrimPrefix(secure.URL, "https") + "/ipp/print"}
	p, err := (&Client{}).Ask(t.Context(), at)
	if err != nil || len(p.Key) != 64 {
		t.Fatalf("%+v, %v", p, err)
	}
	at.Key = p.Key
	if _, err := (&Client{}).Ask(t.Context(), at); err != nil {
		t.Error(err)
	}
	at.Key = strings.Repeat("0", 64)
	r := (*paper.Refusal)(nil)
	if _, err := (&Client{}).Ask(t.Context(), at); !errors.As(err, &r) || r.Trouble != paper.TroubleKey {
		t.Errorf("another certificate: %v", err)
	}
}

// The reasons are those of RFC 8011, 5.4.12, with and without a severity.
func TestTroubles(t *testing.T) {
	for said, want := range map[string]string{
		"none": "", "": "", "media-empty-error,media-needed-error": "paper-out",
		"media-empty-warning,media-needed-warning": "paper-out",
		"media-needed": "media", "media-jam-error,cover-open-report": "jam open",
		"toner-low-report": "ink-low",
		"marker-supply-empty-error,media-low-warning": "ink paper-low", "paused,moving-to-paused": "paused",
		"output-area-full-error":         "full",
		"output-area-almost-full-report": "full-soon", "door-open": "open", "input-tray-missing": "tray",
		"spool-area-full-report": "spool",
		"connecting-to-device":   "off", "fuser-over-temp-error": "other", "com.example-lamp-report": "",
	} {
		var got []string
		for _, x := range troublesOf(strings.Split(said, ",")) {
			got = append(got, string(x))
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %v, want %s", said, got, want)
		}
	}
	f := newFake(t)
	f.reasons, f.state, f.jobState, f.jobs = []string{
		"media-jam-error"}, printerStopped, jobProcessing, []string{"Card A 1"}
	p, err := (&Client{}).Look(t.Context(), f.at(), 1, "Card A 1")
	if err != nil || p.Stage != paper.StagePrinting ||
		!slices.Equal(p.Troubles, []paper.Trouble{paper.TroubleJam}) {
		t.Errorf("a jam on the way: %+v, %v", p, err)
	}
}

func TestParse(t *testing.T) {
	for uri, want := range map[string]string{
		"ipp://printer": "ipp://printer:631/ipp/print", " ipp://10.0.0.7:8632/x ": "ipp://10.0.0.7:8632/x",
		"ipps://[::1]": "ipps://[::1]:631/ipp/print",
	} {
		if u, err := Parse(uri); err != nil || u.String() != want {
			t.Errorf("%q: %v, %v", uri, u, err)
		}
	}
	for _, uri := range []string{"", "printer", "http://printer", "file:///etc/passwd", "ipp://",
		"ipp:printer", "ipp://a:b@printer", "ipp://printer/?x", "ipp://printer/#x", "ipp://a b"} {
		if u, err := Parse(uri); err == nil {
			t.Errorf("%q is taken as %v", uri, u)
		}
	}
}

// Names of paper are those of PWG 5101.1; 62 mm is a roll of labels.
func TestMedia(t *testing.T) {
	all := mediaOf([]string{
		"iso_a4_210x297mm", "na_letter_8.5x11in", "custom_min_20x20mm", "custom_max_62x1000mm", "auto",
		"x_0x0mm", "roll_min_1x1mm",
	})
	for size, want := range map[[2]float64]string{
		{210, 297}: "iso_a4_210x297mm", {215.9, 279.4}: "na_letter_8.5x11in",
		{62, 100}: "custom_62x100_62x100mm", {148, 210}: "", {63, 100}: "",
	} {
		if got := paper.MediaFor(all, size[0], size[1]); got != want {
			t.Errorf("%v: %q, want %q", size, got, want)
		}
	}
}

// The first bytes of a Get-Printer-Attributes request as RFC 8010, A.1 lays it out:
// version, operation, number, group, charset.
func TestEncoding(t *testing.T) {
	m := message{code: opGetPrinter, id: 1,
		groups: []group{
			{groupOperation,
				[]attribute{texts("attributes-charset", tagCharset, "utf-8"), number("n", tagInteger, 7)}}}}
	want := "\x01\x01\x00\x0b\x00\x00\x00\x01\x01\x47\x00\x12attributes-charset\x00\x05utf-8\x21\x00\x01n\x00\x04\x00\x00\x00\x07\x03"
	if got := string(m.encode()); got != want {
		t.Errorf("got %q\nwant %q", got, want)
	}
	back, err := decode([]byte(want))
	if err != nil || back.first(groupOperation).number("n", 0) != 7 ||
		back.first(groupOperation).text("attributes-charset") != "utf-8" {
		t.Errorf("read back: %+v, %v", back, err)
	}
	for i := range len(want) - 1 {
		if m, err := decode([]byte(want[:i])); err == nil {
			t.Errorf("cut at %d it is read as %+v", i, m)
		}
	}
}

// FuzzAnswer holds the reader of printers' answers: whatever arrives, it ends, and what
// it reads it can write and read again.
func FuzzAnswer(f *testing.F) {
	f.Add((&message{code: 1, id: 2,
		groups: []group{
			{groupPrinter, []attribute{
				texts("media-supported", tagKeyword, "iso_a4_210x297mm", "x")}}}}).encode())
	f.Add([]byte("\x02\x00\x00\x00\x00\x00\x00\x01\x04\x34\x00\x01c\x00\x00\x4a\x00\x00\x00\x01x\x37\x00\x00\x00\x00\x03"))
	f.Add([]byte("\x02\x00\x00\x00\x00\x00\x00\x01\x02\x36\x00\x01n\x00\x08\x00\x02en\x00\x02ab\x03"))
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := decode(b)
		if err != nil {
			return
		}
		for i := range m.groups {
			g := &m.groups[i]
			for _, a := range g.attrs {
				mediaOf(g.texts(a.name))
				troublesOf(g.texts(a.name))
				_, _, _ = g.number(a.name, 0), g.numbers(a.name), g.is(a.name, false)
				for _, s := range g.texts(a.name) {
					if strings.ContainsAny(s, "\x00\n\x1b") || len([]rune(s)) > mostText {
						t.Fatalf("%q would be shown", s)
					}
				}
			}
		}
		hasCollection := bytes.ContainsRune(b, tagBeginCollection)
		again, err := decode(m.encode())
		if !hasCollection && (err != nil || fmt.Sprint(again.groups) != fmt.Sprint(m.groups)) {
			t.Fatalf("read, written and read again: %v\n%+v\n%+v", err, m, again)
		}
	})
}

// What answers for a printer sends nobody elsewhere: documents stay with the address
// that was added.
func TestRedirectsAreNotFollowed(t *testing.T) {
	f, elsewhere := newFake(t), newFake(t)
	f.odd = func(w http.ResponseWriter, r *http.Request, _ int) bool {
		http.Redirect(w, r, elsewhere.URL+"/ipp/print", http.StatusPermanentRedirect)
		return true
	}
	heard := false
	elsewhere.odd = func(http.ResponseWriter, *http.Request, int) bool { heard = true; return false }
	if p, err := (&Client{}).Ask(t.Context(), f.at()); err == nil || heard {
		t.Errorf("%+v was sent on: %t", p, heard)
	}
}
