package labels

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"strconv"
)

// joiner writes PDFs of this package one after the other as a single one, so that a
// whole order book needs no more memory than a part of it. It reads what fpdf writes,
// and no other PDF.
type joiner struct {
	w      io.Writer
	at     int   // bytes written
	starts []int // of the objects; the first two are the catalogue and the tree of pages
	parts  []int // objects of the parts' own trees
	pages  int
	info   []byte
	err    error
}

// The objects that every joined PDF has.
const (
	objCatalog = 1
	objPages   = 2
	objInfo    = 3
)

var (
	reference = regexp.MustCompile(`([0-9]+) 0 R`)
	trailRoot = regexp.MustCompile(`/Root ([0-9]+) 0 R`)
	trailInfo = regexp.MustCompile(`/Info ([0-9]+) 0 R`)
	pageCount = regexp.MustCompile(`/Count ([0-9]+)`)
)

func newJoiner(w io.Writer) *joiner {
	j := &joiner{w: w, starts: make([]int, objInfo)}
	j.print("%%PDF-1.7\n%%\xE2\xE3\xCF\xD3\n")
	return j
}

func (j *joiner) print(format string, args ...any) { j.write(fmt.Appendf(nil, format, args...)) }

func (j *joiner) write(b []byte) {
	if j.err != nil {
		return
	}
	n, err := j.w.Write(b)
	j.at += n
	j.err = err
}

// object begins the object of a number.
func (j *joiner) object(n int) {
	for len(j.starts) < n {
		j.starts = append(j.starts, 0)
	}
	j.starts[n-1] = j.at
	j.print("%d 0 obj\n", n)
}

// add writes the pages of a PDF. It fails when the PDF is not as fpdf writes it, and as
// the writer does.
func (j *joiner) add(pdf []byte) error {
	objects, trailer, err := objectsOf(pdf)
	if err != nil {
		return err
	}
	root, info := number1(trailRoot, trailer), number1(trailInfo, trailer)
	base := len(j.starts)
	for n, body := range objects {
		switch n + 1 {
		case info:
			if j.info == nil {
				j.info = bytes.Clone(body)
			}
			continue
		case root:
			continue
		}
		if n == 0 { // the tree of its pages becomes a branch of ours
			j.parts = append(j.parts, base+1)
			j.pages += number1(pageCount, body)
			body = bytes.Replace(body, []byte("/Type /Pages"), []byte("/Type /Pages /Parent -2 0 R"), 1)
		}
		j.object(base + n + 1)
		j.write(moved(body, base))
	}
	for len(j.starts) < base+len(objects) {
		j.starts = append(j.starts, 0)
	}
	return j.err
}

// moved gives references other numbers; what stands in a stream is left as it is.
func moved(body []byte, base int) []byte {
	head, stream := body, []byte(nil)
	if i := bytes.Index(body, []byte("stream\n")); i >= 0 {
		head, stream = body[:i], body[i:]
	}
	head = reference.ReplaceAllFunc(head, func(b []byte) []byte {
		n := number1(reference, b)
		return fmt.Appendf(nil, "%d 0 R", n+base)
	})
	head = bytes.Replace(head, fmt.Appendf(nil, "-%d 0 R", objPages+base),
		fmt.Appendf(nil, "%d 0 R", objPages), 1)
	return append(head[:len(head):len(head)], stream...)
}

// end writes what all pages hang on. It fails as the writer does.
func (j *joiner) end() error {
	j.object(objPages)
	j.print("<</Type /Pages /Kids [")
	for _, p := range j.parts {
		j.print("%d 0 R ", p)
	}
	j.print("] /Count %d>>\nendobj\n", j.pages)
	j.object(objCatalog)
	j.print("<</Type /Catalog /Pages %d 0 R>>\nendobj\n", objPages)
	j.object(objInfo)
	j.write(j.info)
	at := j.at
	j.print("xref\n0 %d\n0000000000 65535 f \n", len(j.starts)+1)
	for _, start := range j.starts {
		if start == 0 {
			j.print("0000000000 00000 f \n")
			continue
		}
		j.print("%010d 00000 n \n", start)
	}
	j.print("trailer\n<</Size %d /Root %d 0 R /Info %d 0 R>>\nstartxref\n%d\n%%%%EOF\n", len(j.starts)+1,
		objCatalog, objInfo, at)
	return j.err
}

// objectsOf takes a PDF apart by its table: the bodies of its objects in the order of
// their numbers, each up to and with endobj, and its trailer.
func objectsOf(pdf []byte) (objects [][]byte, trailer []byte, err error) {
	odd := func(what string) error {
		return fmt.Errorf("joining PDFs: %s is not where it was expected", what)
	}
	tail := bytes.LastIndex(pdf, []byte("startxref\n"))
	if tail < 0 {
		return nil, nil, odd("the end")
	}
	line, _, _ := bytes.Cut(pdf[tail+len("startxref\n"):], []byte("\n"))
	table, err := strconv.Atoi(string(line))
	if err != nil || table >= tail || !bytes.HasPrefix(pdf[table:], []byte("xref\n0 ")) {
		return nil, nil, odd("the table")
	}
	rows := bytes.Split(pdf[table:tail], []byte("\n"))
	for _, row := range rows[3:] { // after xref, the count, and the free first entry
		if !bytes.HasSuffix(bytes.TrimRight(row, " "), []byte(" n")) {
			break
		}
		start, err := strconv.Atoi(string(row[:10]))
		if err != nil || start >= table {
			return nil, nil, odd("an object")
		}
		_, body, ok := bytes.Cut(pdf[start:table], []byte(" obj\n"))
		end := bytes.Index(body, []byte("endobj\n"))
		if i := bytes.Index(body, []byte("stream\n")); i >= 0 && i < end {
			if length := bytes.LastIndex(body[:i], []byte("/Length ")); length >= 0 {
				n := number1(lengthOf, body[length:i])
				if j := bytes.Index(body[min(i+len("stream\n")+n, len(body)):], []byte("endobj\n")); j >= 0 {
					end = i + len("stream\n") + n + j
				}
			}
		}
		if !ok || end < 0 {
			return nil, nil, odd("the end of an object")
		}
		objects = append(objects, body[:end+len("endobj\n")])
	}
	i := bytes.LastIndex(pdf[:tail], []byte("trailer"))
	if i < 0 || len(objects) < 2 {
		return nil, nil, odd("the trailer")
	}
	return objects, pdf[i:tail], nil
}

var lengthOf = regexp.MustCompile(`/Length ([0-9]+)`)

// number1 is the first number that a pattern finds; 0 when it finds none.
func number1(re *regexp.Regexp, b []byte) int {
	m := re.FindSubmatch(b)
	if m == nil {
		return 0
	}
	n, err := strconv.Atoi(string(m[1]))
	if err != nil {
		return 0
	}
	return n
}
