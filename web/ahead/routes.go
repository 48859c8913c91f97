package ahead

import (
	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// Routes are the ways to what is ahead.
func (s *Ahead) Routes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/ahead", Deed: traveler.DeedLook, Handle: s.getAhead,
			Does: "when batches may be delivered, and the load of the weeks to come",
			More: "Of a batch p50, p85 and p95 are its delivery. What it was worked out from is the floor as of " +
				"as_of, at most a minute old while the shop works.",
			Params: []ask.Param{ask.Text("card", "one batch, with its steps: card or works order")},
			Answer: forecastView{}, Example: ask.Example{At: "/api/v1/ahead?card=W-501"},
		},
		{
			Method: "GET", Path: "/api/v1/ahead/hits", Deed: traveler.DeedLook, Handle: s.getHits,
			Does: "how the forecasts of the last days came out",
			More: "Each batch that was on the floor on a day, with what was said of it then. Batches that are open past " +
				"their date count as late; cancelled ones are left out and counted.",
			Params: []ask.Param{ask.Whole("days", "how many days; 120 if left out")},
			Answer: hitsView{}, Example: ask.Example{At: "/api/v1/ahead/hits?days=90"},
		},
		{
			Method: "GET", Path: "/api/v1/ahead/rules", Deed: traveler.DeedLook, Handle: s.getRules,
			Does:   "the shop's rule of order, and how each rule would have done on its last quarter",
			Answer: rulesView{}, Example: ask.Example{At: "/api/v1/ahead/rules"},
		},
		{
			Method: "POST", Path: "/api/v1/ahead/rules", Deed: traveler.DeedPlan, Handle: s.postRule,
			Does: "make a rule the shop's",
			Body: chosenRule{}, Answer: rulesView{},
			Example: ask.Example{At: "/api/v1/ahead/rules", Body: `{"rule":"due"}`},
		},
		{
			Method: "POST", Path: "/api/v1/promise", Deed: traveler.DeedLook, Handle: s.postPromise,
			Does: "which dates to say to a customer, and what that does to the batches that are there",
			More: "Nothing is put on the floor. One scenario is worked out at a time: 503 with Retry-After where " +
				"others wait already.",
			Body: enquiryAsk{}, Answer: promiseView{},
			Example: ask.Example{
				At:   "/api/v1/promise",
				Body: `{"from":"2026-12-01","lines":[{"part":"1001-04","pieces":40,"due":"2026-12-18"}]}`,
			},
		},
		{
			Method: "POST", Path: "/api/v1/what-if", Deed: traveler.DeedLook, Handle: s.postWhatIf,
			Does: "what would become of the floor if something were done otherwise",
			More: "Nothing is changed. One scenario is worked out at a time: 503 with Retry-After where others wait " +
				"already.",
			Body: scenarioAsk{}, Answer: whatIfView{},
			Example: ask.Example{At: "/api/v1/what-if", Body: `{"first":["W-501"]}`},
		},
		{
			Method: "GET", Path: "/api/v1/what-if", Deed: traveler.DeedLook, Handle: s.getProgress,
			Does:   "how far the scenario is that is worked out now",
			Answer: progressView{}, Example: ask.Example{At: "/api/v1/what-if"},
		},
		{
			Method: "GET", Path: "/api/v1/next", Deed: traveler.DeedLook, Handle: s.getNext,
			Does: "what to run next at a machine, as advice",
			More: "Answered at once; what follows from taking another batch first is found out while one looks, and is " +
				"there at a later look.",
			Params: []ask.Param{ask.Text("machine", "short name or code").Must()},
			Answer: nextView{},
		},
	}
}
