package confidence_test

import (
	"bytes"
	"context"
	"sync"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

var loaded = sync.OnceValues(systems.Builtin)

// planned plans a job text with the built-in data. Its jobs are our own: common
// practice, no source.
func planned(t testing.TB, text string) *systems.Outcome {
	t.Helper()
	c, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	j, err := systems.ReadJob(bytes.NewReader([]byte(text)), c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

var demo = sync.OnceValue(func() *systems.Outcome {
	c, err := loaded()
	if err != nil {
		panic(err)
	}
	j, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	if err != nil {
		panic(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		panic(err)
	}
	return o
})
