package systems_test

import (
	"context"
	"errors"
	"reflect"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/learn"
	"github.com/tackfree/tackfree/systems/money"
)

// askedOf are the calls that an app makes with one job and one plan.
func askedOf(j systems.Job, o *systems.Outcome) map[string]func(context.Context) error {
	goal := systems.Goal{For: systems.Earliest, Horizon: 48 * time.Hour}
	return map[string]func(context.Context) error{
		"Plan": func(ctx context.Context) error { _, err := systems.Plan(ctx, j); return err },
		"WhatIf": func(ctx context.Context) error {
			_, err := systems.WhatIf(ctx, j, systems.HeatStops{At: 60 * time.Hour}, systems.HandsShort{Hands: 1}, systems.MoreUptake{Times: 2}, systems.WeatherOff{Temp: -3})
			return err
		},
		"Decide": func(ctx context.Context) error { _, err := systems.Decide(ctx, j, goal); return err },
		"confidence": func(ctx context.Context) error {
			_, err := confidence.Of(ctx, o, confidence.Options{Draws: 2000, Workers: 2})
			return err
		},
		"Learn": func(ctx context.Context) error {
			r, err := learn.Learn(ctx, j, learn.Readings{Used: []learn.Used{{Step: "prime", Name: "north half", Area: 700 * units.SquareFoot, Used: 6 * units.Gallon}}})
			if err == nil {
				_, _, err = r.Apply(j)
			}
			return err
		},
	}
}

// No call changes the job or the plan that it is given (a property, no source).
func TestCallsLeaveTheJob(t *testing.T) {
	text := string(systems.DemoJob())
	j, same := job(t, text), job(t, text)
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(j, same) {
		t.Fatal("Plan changes the job")
	}
	was := string(marshal(t, o))
	for name, call := range askedOf(j, o) {
		if err := call(context.Background()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !reflect.DeepEqual(j, same) {
			t.Errorf("%s changes the job", name)
		}
		if string(marshal(t, o)) != was {
			t.Errorf("%s changes the plan", name)
		}
	}
	if _, err := money.Of(o, nil); err != nil || string(marshal(t, o)) != was {
		t.Errorf("money.Of changes the plan, or %v", err)
	}
}

// A call whose context has ended gives its error, and does not go on for longer
// than a fraction of its work (common practice, no source).
func TestCancelled(t *testing.T) {
	j := job(t, string(systems.DemoJob()))
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	for name, call := range askedOf(j, o) {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		if err := call(ctx); !errors.Is(err, context.Canceled) {
			t.Errorf("%s with an ended context: %v", name, err)
		}
		begin := time.Now()
		if err := call(context.Background()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		whole := time.Since(begin)
		for part := time.Duration(1); part < 8; part += 2 {
			ctx, cancel := context.WithTimeout(context.Background(), whole*part/8)
			err := call(ctx)
			if end, _ := ctx.Deadline(); err != nil && time.Since(end) > whole/2+time.Second { // others share the machine
				t.Errorf("%s, which takes %v, goes on for %v after %v: %v", name, whole, time.Since(end), whole*part/8, err)
			}
			cancel()
		}
	}
}
