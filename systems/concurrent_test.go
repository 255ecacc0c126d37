package systems_test

import (
	"bytes"
	"context"
	"strings"
	"sync"
	"testing"
	"time"

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

// One job, with its space and its past forecast, is planned, disturbed and
// decided at once: run with -race (no outside source: a property).
func TestTogetherOnOneJob(t *testing.T) {
	j := job(t, string(systems.DemoJob()))
	want, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	var wait sync.WaitGroup
	for range 2 {
		wait.Go(func() {
			if o, err := systems.Plan(context.Background(), j); err != nil || !bytes.Equal(marshal(t, o), marshal(t, want)) {
				t.Errorf("another plan, %v", err)
			}
		})
		wait.Go(func() {
			if _, err := systems.WhatIf(context.Background(), j, systems.HeatStops{At: 34 * time.Hour}); err != nil {
				t.Error(err)
			}
		})
		wait.Go(func() {
			if _, err := systems.Decide(context.Background(), j, systems.Goal{For: systems.Earliest, Horizon: 48 * time.Hour, NoRelax: true}); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
}
