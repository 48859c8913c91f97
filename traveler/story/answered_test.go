package story_test

import (
	"path/filepath"
	"testing"
	"time"

	"golang.org/x/tools/txtar"

	. "tallywalk/traveler"
)

// What would follow from an answer is worked out beside each story: the question is
// settled there, and the story itself stays as it was.
func TestAnsweredLeavesTheStory(t *testing.T) {
	files, err := filepath.Glob("../../testdata/stories/*.txtar")
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, file := range files {
		ar, err := txtar.ParseFile(file)
		if err != nil {
			t.Fatal(err)
		}
		p := newPlay(t)
		for i := range ar.Files {
			switch body := string(ar.Files[i].Data); ar.Files[i].Name {
			case "shop":
				p.setShop(body)
			case "scans":
				p.scans(body)
			}
		}
		before := p.dump()
		for _, f := range p.families {
			for _, q := range f.Questions() {
				for _, choice := range q.Choices {
					if q.Settled != nil {
						continue
					}
					next, refused := f.Answered(p.shop, &q, choice, Actor{Name: "x", Role: RoleSupervisor},
						f.Last().Add(time.Hour))
					if next == nil {
						t.Errorf("%s: %s %s is refused: %+v", file, q.ID, choice, refused)
						continue
					}
					tried++
					for _, open := range next.Questions() {
						if open.ID == q.ID && open.Settled == nil {
							t.Errorf("%s: %s stays open after %s", file, q.ID, choice)
						}
					}
				}
				if next, refused := f.Answered(p.shop, &q, q.Choices[0], Actor{Name: "x", Role: RoleOperator},
					f.Last()); next != nil || refused.Key != "role.settle" {
					t.Errorf("an operator answers %s: %+v", q.ID, refused)
				}
			}
		}
		if after := p.dump(); after != before {
			t.Errorf("%s:\n%s\nbecame\n%s", file, before, after)
		}
	}
	if tried < 20 {
		t.Errorf("%d answers were tried", tried)
	}
}
