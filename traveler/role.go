package traveler

// Role says what someone may do. Roles are ordered only for operator up to
// administrator where May says so; ask May, never compare.
type Role string

// The roles of the floor and the office. Watcher is a wall screen or a
// read-only link: it may look and do nothing.
const (
	RoleWatcher       Role = "watcher"
	RoleOperator      Role = "operator"
	RoleInspector     Role = "inspector"
	RoleSupervisor    Role = "supervisor"
	RolePlanner       Role = "planner"
	RoleAdministrator Role = "administrator"
)

// Valid reports whether r is one of the roles.
func (r Role) Valid() bool {
	switch r {
	case RoleWatcher, RoleOperator, RoleInspector, RoleSupervisor, RolePlanner, RoleAdministrator:
		return true
	}
	return false
}

// Actor is who made an entry: the account, token or station that was
// signed in, and the role it acted in.
type Actor struct {
	Name string `json:"name"`
	Role Role   `json:"role"`
}

// Deed is something that a role may or may not do.
type Deed string

// Deeds beside the scans: what the office does.
const (
	DeedLook     Deed = "look"     // see boards, batches and history
	DeedScan     Deed = "scan"     // make scans as an operator
	DeedReady    Deed = "ready"    // say what is there for an operation, and what is missing
	DeedVerdict  Deed = "verdict"  // first-off verdicts, reviews, hold, free
	DeedSettle   Deed = "settle"   // answer questions, correct, undo after two minutes
	DeedRelease  Deed = "release"  // release batches, change what their order says
	DeedPlan     Deed = "plan"     // import machines, routes, reasons
	DeedEnrol    Deed = "enrol"    // enrol stations and wall screens
	DeedAccounts Deed = "accounts" // accounts, tokens, people
)

var may = map[Role][]Deed{
	RoleWatcher:    {DeedLook},
	RoleOperator:   {DeedLook, DeedScan, DeedReady},
	RoleInspector:  {DeedLook, DeedScan, DeedReady, DeedVerdict},
	RoleSupervisor: {DeedLook, DeedScan, DeedReady, DeedVerdict, DeedSettle, DeedRelease, DeedEnrol},
	RolePlanner:    {DeedLook, DeedReady, DeedRelease, DeedPlan},
	RoleAdministrator: {DeedLook, DeedScan, DeedReady, DeedVerdict, DeedSettle, DeedRelease, DeedPlan,
		DeedEnrol, DeedAccounts},
}

// May is the one place that decides who may do what.
func May(r Role, d Deed) bool {
	for _, x := range may[r] {
		if x == d {
			return true
		}
	}
	return false
}

// DeedOf says which deed a scan is. An undo is an ordinary scan here: whether
// it is in time, and by the one who made the scan, is a rule of the floor.
func DeedOf(s *Scan) Deed {
	switch s.Action {
	case ActHold, ActFree:
		return DeedVerdict
	case ActFirstOff:
		if s.HasCounts() {
			return DeedVerdict
		}
	case ActDecide:
		if s.For == "" {
			return DeedVerdict
		}
		return DeedSettle
	case ActOverride:
		if changesOrder(s.For) {
			return DeedRelease
		}
		return DeedSettle
	case ActCorrect, ActCancel:
		return DeedSettle
	case ActReady:
		return DeedReady
	}
	return DeedScan
}

// changesOrder reports whether an override changes what a batch was released with
// for its order, which is for those who release batches too.
func changesOrder(what string) bool {
	switch what {
	case "pieces", "wanted", "due", "priority", "hot", "customer", "order_line", "lots":
		return true
	}
	return false
}
