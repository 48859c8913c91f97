package store

import (
	"testing"

	"tallywalk/store/storetest"
	"tallywalk/traveler/story"
)

func TestGatherIsALog(t *testing.T) {
	storetest.Run(t, LedgerFormat, func(t *testing.T) story.Log { return sound(t, NewGather(openFile(t, t.TempDir()))) })
}
