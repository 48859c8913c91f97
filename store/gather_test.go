package store

import (
	"testing"

	"tallywalk/store/storetest"
	"tallywalk/traveler"
)

func TestGatherIsALog(t *testing.T) {
	storetest.Run(t, ledgerFormat, func(t *testing.T) traveler.Log { return sound(t, NewGather(openFile(t, t.TempDir()))) })
}
