package systems_test

import (
	"bytes"
	"context"
	"strings"
	"sync"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// One catalog and one outcome serve several goroutines: run with -race
// (no outside source: a property).
func TestTogether(t *testing.T) {
	c := builtin(t)
	o := planWith(t, c, baseJob)
	want := marshal(t, o)
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			if _, err := systems.ReadJob(strings.NewReader(baseJob+"[materials.epoxy-standard]\nsolids = \"97 %\"\n"), c); err != nil {
				t.Error(err)
			}
			if _, err := o.Explain("steps.body.kits"); err != nil {
				t.Error(err)
			}
			again, err := systems.Replay(context.Background(), want, c)
			if err != nil {
				t.Error(err)
				return
			}
			if !bytes.Equal(marshal(t, again), want) {
				t.Error("other bytes")
			}
		})
	}
	wait.Wait()
}
