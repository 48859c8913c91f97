package main

import (
	"encoding/json"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// watchEdge notes for each answer of the edge how long it took from the key or the press
// before it: to the sound, and to the frame that shows the edge. A frame is over when the
// next task runs after its animation callbacks.
const watchEdge = `(() => {
  let from = 0, sounded = 0;
  window.took = [];
  for (const type of ['keydown', 'click']) document.addEventListener(type, (e) => { if (type === 'click' || e.key === 'Enter') { from = e.timeStamp; sounded = 0; } }, {capture: true});
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (at) { sounded ||= performance.now() - from; return start.call(this, at); };
  const edge = document.querySelector('[data-test="edge"]');
  new MutationObserver(() => {
    if (!edge.dataset.kind || !from) return;
    const began = from, sound = sounded;
    from = 0;
    requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => window.took.push({frame: performance.now() - began, sound}); c.port2.postMessage(0); });
  }).observe(edge, {attributes: true, attributeFilter: ['class', 'data-kind']});
})()`

// BenchmarkEdge measures how long the edge of the screen and the sound take to answer
// what is scanned and pressed, on a device that is four times as slow as this one, with
// the server and alone. The figures are percentiles of the answers in milliseconds.
func BenchmarkEdge(b *testing.B) {
	for _, alone := range []bool{false, true} {
		name := "online"
		if alone {
			name = "alone"
		}
		b.Run(name, func(b *testing.B) { benchEdge(b, alone) })
	}
}

const edgeRounds = 5

func benchEdge(b *testing.B, alone bool) {
	var took []edgeTook
	for b.Loop() {
		took = append(took, edgeAnswers(b, alone)...)
	}
	report := func(what string, of func(i int) float64) {
		all := make([]float64, len(took))
		for i := range took {
			all[i] = of(i)
		}
		slices.Sort(all)
		b.ReportMetric(all[len(all)/2], what+"-p50-ms")
		b.ReportMetric(all[len(all)*95/100], what+"-p95-ms")
	}
	report("frame", func(i int) float64 { return took[i].Frame })
	report("sound", func(i int) float64 { return took[i].Sound })
}

// edgeTook is how long one answer took, in milliseconds.
type edgeTook struct{ Frame, Sound float64 }

// edgeAnswers scans cards and presses steps, and gives how long each answer took.
func edgeAnswers(b *testing.B, alone bool) (took []edgeTook) {
	r := newRig(b, rigOptions{open: true})
	one, two := r.release("1002-11", 40, "E-1"), r.release("1002-11", 40, "E-2")
	s := browse(b, r).station("T1")
	for _, card := range []string{one, two} {
		s.scanner(card).likely("setup").click("likely").likely("run").click("likely").likely("count").click(
			"close")
	}
	s.waits(0)
	if alone {
		s.block(r.base + "/api/*").until(
			`document.querySelector('[data-test="link"]').classList.contains('off')`)
	}
	s.do(
		action(emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4}),
		chromedp.Evaluate[chromedp.Void](watchEdge),
	)
	rest := `document.querySelector('[data-test="edge"]').dataset.kind === ''`
	for range edgeRounds {
		for _, card := range []string{one, two} {
			s.until(rest).scanner(card).front(card).until(rest).click("step-stop").waitFor("reasons").until(
				rest)
			s.click("reason-tool").likely("run.on").until(rest).click("likely").offers("stop", true)
		}
	}
	if err := json.Unmarshal([]byte(s.value(`JSON.stringify(window.took)`)), &took); err != nil {
		b.Fatal(err)
	}
	return took
}
