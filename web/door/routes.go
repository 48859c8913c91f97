package door

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/web/ask"
)

// Routes are the ways to sign in, and to those who may.
func (s *Door) Routes() []ask.Route { return append(s.signInRoutes(), s.accessRoutes()...) }

// signInRoutes are for everybody.
func (s *Door) signInRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/me", Handle: s.getMe,
			Does:    "who asks, and what this server is",
			Answer:  me{},
			Example: ask.Example{At: "/api/v1/me"},
		},
		{
			Method: "POST", Path: "/api/v1/sign-in", Handle: s.postSignIn,
			Does: "open a session",
			Body: signIn{}, Answer: signedIn{},
		},
		{
			Method: "POST", Path: "/api/v1/sign-out", Handle: s.postSignOut,
			Does:   "end the session",
			Status: fiber.StatusNoContent,
		},
		{
			Method: "POST", Path: "/api/v1/language", Handle: s.postLanguage,
			Does: "choose a language",
			More: "Kept with the account, else with the station, and as a cookie in this browser.",
			Body: languageBody{}, Answer: languageBody{},
			Example: ask.Example{At: "/api/v1/language", Body: `{"language":"de"}`},
		},
		{
			Method: "POST", Path: "/api/v1/crossing", Handle: s.postCrossing,
			Does:   "the pass by which this station or wall screen is known at the other servers of its record",
			More:   "Sent there in the header X-Tallywalk-Device. Not found where one server keeps the record.",
			Answer: crossingGiven{},
		},
		{
			Method: "POST", Path: "/api/v1/first", Handle: s.postFirst,
			Does: "make the first account with the one-time code",
			Body: firstAccount{}, Answer: signedIn{},
		},
		{
			Method: "POST", Path: "/api/v1/enrol", Handle: s.postEnrol,
			Does: "make this device a station",
			Body: codeBody{}, Answer: enrolled{},
		},
		{
			Method: "GET", Path: "/api/v1/people/:ref", Deed: traveler.DeedScan, Handle: s.getPerson,
			Does:    "who a badge belongs to; a clock number is answered with the name only for those who may settle",
			Params:  []ask.Param{ask.Text("ref", "badge code or clock number")},
			Answer:  badgeOwner{},
			Example: ask.Example{At: "/api/v1/people/11"},
		},
	}
}

// accessRoutes are for those who let others in.
func (s *Door) accessRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/stations", Deed: traveler.DeedEnrol, Handle: s.getStations,
			Does:    "stations and wall screens",
			Answer:  stationsView{},
			Example: ask.Example{At: "/api/v1/stations"},
		},
		{
			Method: "POST", Path: "/api/v1/enrol-codes", Deed: traveler.DeedEnrol, Handle: s.postEnrolCode,
			Does: "a code that enrols one station",
			Body: enrolBody{}, Status: fiber.StatusCreated, Answer: enrolCode{},
			Example: ask.Example{At: "/api/v1/enrol-codes", Body: `{"name":"Tablet by T1","machine":"T1"}`},
		},
		{
			Method: "PATCH", Path: "/api/v1/stations/:id", Deed: traveler.DeedEnrol, Handle: s.patchStation,
			Does:   "give a station another name",
			Params: []ask.Param{ask.Text("id", "as the list has it")}, Body: stationName{},
			Answer: passView{},
		},
		{
			Method: "DELETE", Path: "/api/v1/stations/:id", Deed: traveler.DeedEnrol,
			Handle: s.deletePass(tableStations),
			Does:   "cut a station off at once; it keeps what it has not sent",
			Params: []ask.Param{ask.Text("id", "as the list has it")}, Status: fiber.StatusNoContent,
		},
		{
			Method: "DELETE", Path: "/api/v1/screens/:id", Deed: traveler.DeedEnrol,
			Handle: s.deletePass(tableScreens), Does: "take a wall screen off",
			Params: []ask.Param{ask.Text("id", "as the list has it")}, Status: fiber.StatusNoContent,
		},
		{
			Method: "DELETE", Path: "/api/v1/tokens/:id", Deed: traveler.DeedAccounts,
			Handle: s.deletePass(tableTokens), Does: "revoke a token at once",
			Params: []ask.Param{ask.Text("id", "as the list has it")}, Status: fiber.StatusNoContent,
		},
		{
			Method: "POST", Path: "/api/v1/screens", Deed: traveler.DeedEnrol, Handle: s.postScreen,
			Does: "a read-only link for a wall screen: it opens the three boards and what they are drawn with",
			Body: screenBody{}, Status: fiber.StatusCreated, Answer: screenLink{},
			Example: ask.Example{At: "/api/v1/screens", Body: `{"name":"Hall","board":"ground","m":8}`},
		},
		{
			Method: "GET", Path: "/api/v1/people", Deed: traveler.DeedAccounts, Handle: s.getPeople,
			Does:   "all who have a badge, with its code; for administrators",
			Answer: peopleView{},
		},
		{
			Method: "POST", Path: "/api/v1/people/:ref/badge", Deed: traveler.DeedAccounts,
			Handle: s.postBadge,
			Does:   "give someone another badge; the one before lends no role any more",
			Params: []ask.Param{ask.Text("ref", "clock number")},
			Status: fiber.StatusCreated, Answer: people.Person{},
		},
		{
			Method: "GET", Path: "/api/v1/accounts", Deed: traveler.DeedAccounts, Handle: s.getAccounts,
			Does:   "accounts",
			Answer: accountsView{},
		},
		{
			Method: "POST", Path: "/api/v1/accounts", Deed: traveler.DeedAccounts, Handle: s.postAccount,
			Does: "make or change an account; its sessions end",
			Body: newAccountBody{}, Status: fiber.StatusCreated, Answer: accountView{},
			Example: ask.Example{
				At:   "/api/v1/accounts",
				Body: `{"name":"P. Planner","password":"a long one that nobody guesses","role":"planner"}`,
			},
		},
		{
			Method: "GET", Path: "/api/v1/tokens", Deed: traveler.DeedAccounts, Handle: s.getTokens,
			Does:   "bearer tokens of programs, without their secrets",
			Answer: tokensView{},
		},
		{
			Method: "POST", Path: "/api/v1/tokens", Deed: traveler.DeedAccounts, Handle: s.postToken,
			Does: "make a bearer token; its secret is answered this once",
			Body: TokenAsk{}, Status: fiber.StatusCreated, Answer: tokenGiven{},
			Example: ask.Example{At: "/api/v1/tokens", Body: `{"name":"cell 3","role":"operator","days":30}`},
		},
		{
			Method: "DELETE", Path: "/api/v1/accounts/:name", Deed: traveler.DeedAccounts,
			Handle: s.deleteAccount,
			Does:   "take an account away; its sessions and open boards end",
			Params: []ask.Param{ask.Text("name", "of the account")},
			Status: fiber.StatusNoContent,
		},
	}
}
