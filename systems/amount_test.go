package systems_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

// An app keeps a plan as JSON and reads it back: the same bytes, each finding in
// the same words, and the same report in both systems. Common practice, no source.
func TestOutcomeReadBack(t *testing.T) {
	jobs := map[string]string{"demo": string(systems.DemoJob()), "damp store": heatedStore}
	for _, name := range []string{"two-rooms", "vestibule", "metric", "every-finding", "typed", "warehouse", "moisture-primed", "stories/unvented-heat", "stories/night-stop"} {
		jobs[name] = read(t, name+".toml")
	}
	for name, text := range jobs {
		o := planOf(t, text)
		whole, err := json.Marshal(o)
		if err != nil {
			t.Fatal(err)
		}
		var back systems.Outcome
		if err := json.Unmarshal(whole, &back); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if again, err := json.Marshal(&back); err != nil || !bytes.Equal(again, whole) {
			t.Errorf("%s: read back it is written in another way: %v", name, err)
		}
		for i, f := range back.Findings {
			for _, s := range []units.System{units.US, units.SI} {
				if got, want := f.Sentence(s), o.Findings[i].Sentence(s); got != want {
					t.Errorf("%s: %q, want %q", name, got, want)
				}
			}
		}
		for _, s := range []units.System{units.US, units.SI} {
			var was, is bytes.Buffer
			if err := report.Write(&was, o, s); err != nil {
				t.Fatal(err)
			}
			if err := report.Write(&is, &back, s); err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(strings.Split(was.String(), "\n"), strings.Split(is.String(), "\n")); d != "" {
				t.Errorf("%s: read back its report is another (-was +is):\n%s", name, d)
			}
		}
	}
}

// A plan over the end of summer time, read back on a machine of that place: its
// clock stays that of the job's start, as before. Source: the European Union's
// directive 2000/84, the last Sunday of October at 01:00 UTC.
func TestReadBackClock(t *testing.T) {
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Skip(err)
	}
	was := time.Local
	time.Local = zone
	defer func() { time.Local = was }()
	o := planOf(t, strings.Replace(read(t, "two-rooms.toml"), `start = "2026-05-11T07:00:00-06:00"`, `start = "2026-10-23T07:00:00+01:00"`, 1))
	if o.Start.Month() != time.October || o.Start.Day() != 23 || o.End.Before(time.Date(2026, 10, 25, 2, 0, 0, 0, time.UTC)) {
		t.Fatalf("%v to %v: want it over the change", o.Start, o.End)
	}
	whole, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	var back systems.Outcome
	if err := json.Unmarshal(whole, &back); err != nil {
		t.Fatal(err)
	}
	var a, b bytes.Buffer
	if err := errors.Join(report.Write(&a, o, units.SI), report.Write(&b, &back, units.SI)); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(strings.Split(a.String(), "\n"), strings.Split(b.String(), "\n")); d != "" {
		t.Errorf("the clock changes (-was +is):\n%s", d)
	}
}

// What a decision and a what if are written as is read back too.
func TestDecisionReadBack(t *testing.T) {
	j := job(t, string(systems.DemoJob()))
	d, err := systems.WhatIf(context.Background(), j, systems.WeatherOff{Temp: -3})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	var back systems.Difference
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if again, err := json.Marshal(&back); err != nil || !bytes.Equal(again, text) {
		t.Errorf("read back it is written in another way: %v", err)
	}
}

// A difference of temperatures is not taken for a temperature; what is no amount is
// refused. Source: none, by hand.
func TestAmountText(t *testing.T) {
	for text, want := range map[string]units.Quantity{"": nil, "3 K": units.TempDelta(3), "-9.5 K": units.TempDelta(-9.5), "10 °C": units.Celsius(10), units.Kelvin(282.123).String(): units.Kelvin(282.123), "0.5 %": units.Fraction(0.005),
		"36h0m0s": nil, "4 m": units.Length(4), "1.5 kg/m2": units.Loading(1.5)} {
		var a systems.Amount
		err := a.UnmarshalText([]byte(text))
		if refused := text == "36h0m0s"; refused != (err != nil) || a.Q != want {
			t.Errorf("%q: %v, %v; want %v", text, a.Q, err, want)
		}
	}
	for _, text := range []string{"3", "three", "3 K K", "\xff", "3 kg/m3/s", "283.15 K K", "50 °F"} {
		var a systems.Amount
		if err := a.UnmarshalText([]byte(text)); err == nil || !strings.Contains(err.Error(), "systems.Amount") {
			t.Errorf("%q: %v, %v", text, a.Q, err)
		}
	}
}
