package stream

import (
	"testing"

	"tallywalk/store/storetest/engines"
)

func TestMain(m *testing.M) {
	engines.Hook()
	m.Run()
}
