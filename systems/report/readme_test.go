package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"go/format"
	"io"
	"os"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
	"github.com/tackfree/tackfree/systems/report"
)

// The calls below are those of the README, word by word.

func firstCall(ctx context.Context, file io.Reader) error {
	catalog, err := systems.Builtin()
	if err != nil {
		return err
	}
	job, err := systems.ReadJob(file, catalog) // a TOML job file; errors name line, key, what is allowed
	if err != nil {
		return err
	}
	plan, err := systems.Plan(ctx, job)
	if err != nil {
		return err
	}
	for _, f := range plan.Findings {
		fmt.Println(f.Severity, f.Step, f.Sentence(units.US), f.Do)
	}
	return report.Write(os.Stdout, plan, units.US)
}

func whatIfCall(ctx context.Context, job systems.Job) error {
	d, err := systems.WhatIf(ctx, job, systems.HeatStops{At: 34 * time.Hour}, systems.WeatherOff{Temp: -3})
	if err != nil {
		return err
	}
	if b := d.AsPlanned.BreaksFirst; b != nil {
		fmt.Println(b.Step, b.Text)
	}
	if at := d.Replanned.HandOver.Now; at != nil { // nil: never, along these temperatures
		fmt.Println("full service", at.Format(time.RFC1123))
	}
	return nil
}

func confidenceCall(ctx context.Context, plan *systems.Outcome) error {
	c, err := confidence.Of(ctx, plan, confidence.Options{Level: 90 * units.Percent, Seed: 1, Workers: 2})
	if err != nil {
		return err
	}
	for i := range c.Lines {
		fmt.Println(c.Lines[i].Sentence(units.US)) // 7 kits planned; 7 would do in half of such jobs, 8 in nine of ten ...
	}
	bill, err := money.Of(plan, c) // c may be nil: then without P-levels
	if err == nil && len(bill.Lines) == 0 {
		err = fmt.Errorf("no lines")
	}
	return err
}

func layersCall(ctx context.Context, plan *systems.Outcome, planJSON []byte) error {
	catalog, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "company", Files: os.DirFS("company")})
	if err != nil {
		return err
	}
	hidden := catalog.Overrides()               // what of a lower layer is hidden by a higher one
	why, err := plan.Explain("steps.body.kits") // formula, inputs, and what lies below them
	if err != nil {
		return err
	}
	same, err := systems.Replay(ctx, planJSON, catalog) // the same plan from its own JSON, also when the data have moved on
	if err != nil {
		return err
	}
	var kept systems.Outcome
	err = json.Unmarshal(planJSON, &kept) // to show it as it was, with report.Write
	if err == nil && (len(hidden) != 0 || why == nil || same == nil || len(kept.Schedule) != len(plan.Schedule)) {
		err = fmt.Errorf("hidden %v, why %v, same %v, kept %v", hidden, why, same, kept)
	}
	return err
}

// Common practice, no source: what the README shows compiles, does not fail on
// the demo job, and is written there as it is here.
func TestREADMECalls(t *testing.T) {
	raw, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	own, err := os.ReadFile("readme_test.go")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, part := range strings.Split(string(raw), "```go\n")[1:] {
		block, _, _ := strings.Cut(part, "```")
		pretty, err := format.Source([]byte("package p\n\nfunc f() error {\n" + block + "}\n"))
		if err != nil {
			t.Errorf("%v in\n%s", err, block)
			continue
		}
		_, body, _ := strings.Cut(strings.TrimSuffix(string(pretty), "}\n"), "{\n")
		if n++; !strings.Contains(string(own), body) {
			t.Errorf("not among the calls that are tried here:\n%s", body)
		}
	}
	if n != 4 {
		t.Errorf("%d blocks of Go: want 4", n)
	}
	lines := 0
	_, first, _ := strings.Cut(string(raw), "## A first call\n\n```go\n")
	for _, line := range strings.Split(first, "\n") {
		if line == "```" {
			break
		}
		lines++
	}
	if lines != 10 {
		t.Errorf("the first call has %d lines: want 10", lines)
	}
}

func TestREADMECallsRun(t *testing.T) {
	ctx := t.Context()
	if err := firstCall(ctx, bytes.NewReader(systems.DemoJob())); err != nil {
		t.Error(err)
	}
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	job, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	if err != nil {
		t.Fatal(err)
	}
	if err := whatIfCall(ctx, job); err != nil {
		t.Error(err)
	}
	plan, err := systems.Plan(ctx, job)
	if err != nil {
		t.Fatal(err)
	}
	if err := confidenceCall(ctx, plan); err != nil {
		t.Error(err)
	}
	planJSON, err := json.Marshal(plan)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, sheet, _ := strings.Cut(string(raw), "```toml\nid = ")
	sheet, _, ok := strings.Cut("id = "+sheet, "```")
	if !ok {
		t.Fatal("the README has no product's sheet")
	}
	t.Chdir(t.TempDir())
	if err := os.CopyFS("company", fstest.MapFS{"materials/body-coat-1.0.0.toml": {Data: []byte(sheet)}}); err != nil {
		t.Fatal(err)
	}
	if err := layersCall(ctx, plan, planJSON); err != nil {
		t.Error(err)
	}
}
