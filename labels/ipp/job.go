package ipp

import (
	"context"
	"errors"
	"slices"

	"tallywalk/traveler/paper"
)

// States of a job (RFC 8011, 5.3.7).
const (
	jobPending    = 3
	jobHeld       = 4
	jobProcessing = 5
	jobStopped    = 6
	jobCancelled  = 7
	jobAborted    = 8
	jobCompleted  = 9
)

// Send gives a printer a document, once. It fails as paper.Printers says: with a
// paper.Refusal, a paper.Unsent or a paper.Lost.
func (c *Client) Send(ctx context.Context, at paper.Address, d *paper.Document,
	made func(job int) error) (int, error) {
	t, err := c.target(at)
	if err != nil {
		return 0, err
	}
	p, err := c.ask(ctx, t)
	if err != nil {
		return 0, unsent(err)
	}
	job, err := p.ticket(d)
	if err != nil {
		return 0, err
	}
	names := []attribute{
		texts(requestedByName, tagName, d.By), texts("job-name", tagName, d.Name),
		boolean("ipp-attribute-fidelity", true),
	}
	format := texts("document-format", tagMedia, pdfType)
	if p.does(opValidateJob) {
		if _, _, err := c.call(ctx, t, opValidateJob, append(names[:len(names):len(names)], format), job,
			nil); err != nil {
			return 0, unsent(err)
		}
	}
	if !p.does(opCreateJob) || !p.does(opSendDocument) {
		m, whole, err := c.call(ctx, t, opPrintJob, append(names, format), job, d.PDF)
		return idOf(m), ended(whole, err)
	}
	m, _, err := c.call(ctx, t, opCreateJob, names, job, nil)
	if err != nil {
		return 0, unsent(err)
	}
	id := idOf(m)
	if err := made(id); err != nil {
		return id, err
	}
	_, whole, err := c.call(ctx, t, opSendDocument, []attribute{
		number("job-id", tagInteger, id), texts(requestedByName, tagName, d.By), format,
		boolean("last-document", true),
	}, nil, d.PDF)
	return id, ended(whole, err)
}

// ticket is what is asked of a job, after what the printer says that it can: its PDF in
// its own size on its own paper, one-sided as a card needs it.
func (p *printer) ticket(d *paper.Document) ([]attribute, error) {
	if !slices.Contains(p.Formats, pdfType) {
		return nil, &paper.Refusal{Trouble: paper.TroubleFormat}
	}
	media := paper.MediaFor(p.Media, d.Wide, d.High)
	if media == "" {
		return nil, &paper.Refusal{Trouble: paper.TroubleMedia}
	}
	job := []attribute{texts("media", tagKeyword, media)}
	if slices.Contains(p.scaling, scalingNone) {
		job = append(job, texts("print-scaling", tagKeyword, scalingNone))
	}
	if slices.Contains(p.sides, oneSided) {
		job = append(job, texts("sides", tagKeyword, oneSided))
	}
	return job, nil
}

func idOf(m *message) int {
	if m == nil {
		return 0
	}
	return m.first(groupJob).number("job-id", 0)
}

// unsent says of what went wrong before the document that it was not sent.
func unsent(err error) error {
	err = sorted(err)
	if r := (*paper.Refusal)(nil); errors.As(err, &r) {
		return err
	}
	return &paper.Unsent{Err: err}
}

// ended says how the sending of a document ended.
func ended(whole bool, err error) error {
	switch {
	case err == nil:
		return nil
	case whole && !isRefusal(err):
		return &paper.Lost{Err: err}
	}
	return unsent(err)
}

func isRefusal(err error) bool { return errors.As(err, new(*paper.Refusal)) }

// Find looks for a document by its name among all the printer's jobs. It fails as Ask
// does.
func (c *Client) Find(ctx context.Context, at paper.Address, name string) (int, error) {
	t, err := c.target(at)
	if err != nil {
		return 0, err
	}
	for _, which := range []string{"not-completed", "completed"} {
		m, _, err := c.call(ctx, t, opGetJobs, []attribute{
			number("limit", tagInteger, mostJobsLooked),
			texts("requested-attributes", tagKeyword, "job-id", "job-name"),
			texts("which-jobs", tagKeyword, which),
		}, nil, nil)
		if err != nil {
			return 0, sorted(err)
		}
		for _, g := range m.of(groupJob) {
			if paper.IsJob(name, g.text("job-name")) {
				return g.number("job-id", 0), nil
			}
		}
	}
	return 0, nil
}

// Look asks how a job is, and how its printer is while the job is not over. It fails as
// Ask does.
func (c *Client) Look(ctx context.Context, at paper.Address, job int, name string) (paper.Progress, error) {
	t, err := c.target(at)
	if err != nil {
		return paper.Progress{}, err
	}
	m, _, err := c.call(ctx, t, opGetJob, []attribute{
		number("job-id", tagInteger, job),
		texts("requested-attributes", tagKeyword, "job-name", "job-state", "job-state-reasons",
			"job-state-message",
			"job-media-sheets-completed", "job-impressions-completed"),
	}, nil, nil)
	if r := (*paper.Refusal)(nil); errors.As(err, &r) && (r.Code == statusNotFound || r.Code == statusGone) {
		return paper.Progress{Stage: paper.StageUnsure}, nil
	}
	if err != nil {
		return paper.Progress{}, sorted(err)
	}
	g := m.first(groupJob)
	if !paper.IsJob(name, g.text("job-name")) {
		return paper.Progress{Stage: paper.StageUnsure}, nil // the printer counts from 1 again
	}
	p := paper.Progress{
		Stage: stageOf(g.number("job-state", 0)), Troubles: troublesOf(g.texts("job-state-reasons")),
		Sheets:  max(0, g.number("job-media-sheets-completed", g.number("job-impressions-completed", 0))),
		Message: g.text("job-state-message"),
	}
	if p.Stage == paper.StageDone || p.Stage == paper.StageCancelled {
		p.Troubles = nil
		return p, nil
	}
	if how, err := c.ask(ctx, t); err == nil {
		p.Troubles = both(p.Troubles, how.Troubles)
	}
	return p, nil
}

func stageOf(state int) paper.Stage {
	switch state {
	case jobPending, jobHeld:
		return paper.StageQueued
	case jobProcessing, jobStopped:
		return paper.StagePrinting
	case jobCancelled:
		return paper.StageCancelled
	case jobAborted:
		return paper.StageFailed
	case jobCompleted:
		return paper.StageDone
	}
	return paper.StageUnsure
}

// Cancel takes a job back. It fails as Ask does, with a paper.Refusal when the job has
// ended.
func (c *Client) Cancel(ctx context.Context, at paper.Address, job int) error {
	t, err := c.target(at)
	if err != nil {
		return err
	}
	_, _, err = c.call(ctx, t, opCancelJob, []attribute{number("job-id", tagInteger, job)}, nil, nil)
	return sorted(err)
}
