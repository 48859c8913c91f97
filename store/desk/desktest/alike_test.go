package desktest_test

import (
	"os"
	"testing"

	"tallywalk/store"
	"tallywalk/store/desk/desktest"
	"tallywalk/traveler/story"
)

func TestSameScansTheSameShop(t *testing.T) {
	mem, file := 30, 2
	if os.Getenv("TALLYWALK_LONG") != "" {
		mem, file = 2000, 50
	}
	t.Run("memory", func(t *testing.T) {
		desktest.Alike(t, mem, func(testing.TB) story.Log { return store.NewMem() })
	})
	t.Run("file", func(t *testing.T) {
		desktest.Alike(t, file, func(t testing.TB) story.Log {
			f, err := store.Open(t.TempDir(), store.Options{})
			if err != nil {
				t.Fatal(err)
			}
			return f
		})
	})
}

func TestAnyOrderTheSameShop(t *testing.T) {
	rounds := 40
	if os.Getenv("TALLYWALK_LONG") != "" {
		rounds = 3000
	}
	desktest.AnyOrder(t, rounds, func(testing.TB) story.Log { return store.NewMem() })
}
