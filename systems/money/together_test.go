package money_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/learn"
	"github.com/tackfree/tackfree/systems/money"
)

// One job, one plan and one sheet of readings serve four goroutines in all that
// an app asks of them, and each has the bytes that one alone has: run with -race
// (no outside source: a property).
func TestTogetherOnOneFloor(t *testing.T) {
	ctx := context.Background()
	catalog := builtin(t)
	j, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), catalog)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := systems.Plan(ctx, j)
	if err != nil {
		t.Fatal(err)
	}
	day, err := os.ReadFile("../../examples/jobplan/testdata/thursday.toml")
	if err != nil {
		t.Fatal(err)
	}
	begun, err := systems.ReadJob(bytes.NewReader(day), catalog)
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := os.ReadFile("../../examples/jobplan/testdata/readings.toml")
	if err != nil {
		t.Fatal(err)
	}
	readings, err := learn.Read(bytes.NewReader(sheet), begun)
	if err != nil {
		t.Fatal(err)
	}
	asks := map[string]func() (any, error){
		"plan":    func() (any, error) { return systems.Plan(ctx, j) },
		"what if": func() (any, error) { return systems.WhatIf(ctx, j, systems.HeatStops{At: 34 * time.Hour}) },
		"decide": func() (any, error) {
			return systems.Decide(ctx, j, systems.Goal{For: systems.Earliest, Horizon: 24 * time.Hour, Grid: 4 * time.Hour, NoRelax: true})
		},
		"confidence and money": func() (any, error) {
			c, err := confidence.Of(ctx, plan, confidence.Options{Draws: 500, Seed: 1, Workers: 2, Level: 90 * units.Percent})
			if err != nil {
				return nil, err
			}
			b, err := money.Of(plan, c)
			return []any{c, b}, err
		},
		"learn": func() (any, error) {
			r, err := learn.Learn(ctx, begun, readings)
			if err != nil {
				return nil, err
			}
			return r, nil
		},
		"explain": func() (any, error) { return plan.Explain("steps.body.kits") },
	}
	bytesOf := func(name string) []byte {
		v, err := asks[name]()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return nil
		}
		raw, err := json.Marshal(v)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		return raw
	}
	want := map[string][]byte{}
	for name := range asks {
		if want[name] = bytesOf(name); len(want[name]) < 200 {
			t.Fatalf("%s is only %q", name, want[name])
		}
	}
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			for name := range asks { // each in an order of its own
				if got := bytesOf(name); !bytes.Equal(got, want[name]) {
					t.Errorf("%s: other bytes beside others than alone", name)
				}
			}
		})
	}
	wait.Wait()
}
