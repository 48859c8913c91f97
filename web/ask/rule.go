package ask

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/story"
)

// Where the shop's rule of order is kept.
const (
	tableSettings = "settings"
	keyRule       = "rule"
)

// keptRule is the rule that someone chose for the shop.
type keptRule struct {
	Rule ahead.Rule `json:"rule"`
	By   string     `json:"by"`
	At   time.Time  `json:"at"`
}

// ShopRule is the order in which a free machine of the shop takes what waits for it:
// the one that a planner chose, or the usual one where nobody did.
func ShopRule(t story.Tables) ahead.Rule {
	var kept keptRule
	if there, err := rows.Read(t, tableSettings, keyRule, &kept); err != nil || !there ||
		!slices.Contains(ahead.AllRules, kept.Rule) {
		return ahead.AllRules[0]
	}
	return kept.Rule
}

// KeepRule makes a rule the shop's. It fails with KindInvalid where there is no such
// rule, and as the tables do.
func KeepRule(t story.Tables, r ahead.Rule, by string, at time.Time) error {
	if !slices.Contains(ahead.AllRules, r) {
		return traveler.Invalid("rule", "ahead.rule", string(r))
	}
	return rows.Write(t, tableSettings, keyRule, keptRule{r, by, at})
}
