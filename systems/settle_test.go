package systems

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/data/units"
)

// rings are floors in two sections, with the order that comes out of each. In the
// air of one order the other misses fewer windows, and the other way round. Found
// among those that drawCoupled draws; common practice, no source.
func rings(t rapid.TB) map[string]*Job {
	t.Helper()
	return map[string]*Job{"at once": ring(t, "at-once"), "one by one": ring(t, "one-by-one")}
}

func ring(t rapid.TB, name string) *Job {
	t.Helper()
	text, err := os.ReadFile("testdata/rings/" + name + ".toml")
	if err != nil {
		t.Fatal(err)
	}
	j, err := ReadJob(bytes.NewReader(text), builtin(t))
	if err != nil {
		t.Fatal(err)
	}
	return &j
}

// Planned and forecast in turn they come back to a space that they were in and do
// not stay; with the order held they come to a plan that is that of its own
// forecast, says so in a note, and misses no more windows than the other order in
// its own air. By definition.
func TestRingIsSettled(t *testing.T) {
	ctx := context.Background()
	for name, j := range rings(t) {
		p, err := run(ctx, j, nil)
		if err != nil {
			t.Fatal(err)
		}
		all := p.sky.spaces
		seen, now, fixed := map[*coupled]bool{}, all.list[0], false
		for !seen[now] && !fixed {
			seen[now] = true
			k := *j
			k.Site, k.Weather = now.site, now.weather
			q, err := sections(ctx, &k, now.sky)
			if err != nil {
				t.Fatal(err)
			}
			x := all.into(q.coupling())
			fixed, now = x == now, x
		}
		if fixed {
			t.Errorf("%s: it is no ring", name)
		}
		f := keys(p.o, "order-of-sections-held")
		if len(f) != 1 || f[0].Limit != name || f[0].Severity != Note || len(keys(p.o, "forecast-not-settled")) != 0 {
			t.Fatalf("%s: %+v", name, p.o.Findings)
		}
		if text := f[0].Sentence(units.SI); !strings.HasSuffix(text, "the better is this: "+name+".") {
			t.Errorf("%s: %s", name, text)
		}
		for _, oneByOne := range []bool{false, true} {
			q, err := settleOrder(ctx, j, all, oneByOne, maxRounds, false)
			if err != nil || q == nil {
				t.Fatalf("%s, one by one %v: no plan, %v", name, oneByOne, err)
			}
			if c := q.coupling(); c.key() != q.j.Site.coupling.key() {
				t.Errorf("%s, one by one %v: the plan's coats\n%s\nthe forecast's\n%s", name, oneByOne, c.key(), q.j.Site.coupling.key())
			}
			if q.oneByOne != oneByOne || q.missed() < p.missed() {
				t.Errorf("%s: it misses %d windows, the other order %d in its own air", name, p.missed(), q.missed())
			}
		}
	}
}

// A first coat that the cold stops some seconds after it is recoatable: in the
// second coat's own air it never is, by its forecast's last digits, and without it
// is. The second coat starts when the first one is ready in the air without it, and
// the first one's line tells that time. Found by drawing 806 rooms; common practice,
// no source; a fixed point is by definition.
func TestRecoatableByAHair(t *testing.T) {
	p, err := run(context.Background(), ring(t, "recoatable-by-a-hair"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if f := keys(p.o, "forecast-not-settled"); len(f) > 0 {
		t.Fatalf("not settled: %+v", f)
	}
	if now := p.coupling(); now.key() != p.j.Site.coupling.key() {
		t.Errorf("the plan's coats\n%s\nthe forecast's\n%s", now.key(), p.j.Site.coupling.key())
	}
	first, second := p.done[spot{"coat-1", 1}], p.done[spot{"coat-2", 1}]
	at := first.reach[RecoatEarliest]
	if at.never || second.start < at.at {
		t.Errorf("recoatable at %+v, the second coat starts at %v", at, second.start)
	}
	for _, w := range p.o.Schedule {
		for _, e := range w.Events {
			if w.Step == "coat-1" && e.Event == RecoatEarliest && (e.At == nil || !e.At.Equal(*p.clock(at.at))) {
				t.Errorf("the line tells %v, the plan goes by %v", e.At, at.at)
			}
		}
	}
}

// What is made of such a plan goes on from it: its JSON replays to the same bytes,
// nothing disturbed is the plan itself, plans through a disturbance settle, and a
// job that was planned is planned anew as if it had not been. By definition.
func TestRingGoesOn(t *testing.T) {
	ctx := context.Background()
	c := builtin(t)
	for name, j := range rings(t) {
		o, err := Plan(ctx, *j)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(o)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Replay(ctx, text, c); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		d, err := WhatIf(ctx, *j)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range []*Answer{&d.AsPlanned, &d.Replanned} {
			if len(a.Comes)+len(a.Goes)+len(a.Moves)+len(a.Steps) != 0 || !reflect.DeepEqual(a.Outcome.Schedule, o.Schedule) {
				t.Errorf("%s: nothing disturbed, and %+v come, %+v go, %+v move, %+v shift", name, a.Comes, a.Goes, a.Moves, a.Steps)
			}
		}
		d, err = WhatIf(ctx, *j, WeatherOff{Temp: -2})
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []*Outcome{d.AsPlanned.Outcome, d.Replanned.Outcome} {
			if len(keys(q, "forecast-not-settled")) != 0 {
				t.Errorf("%s, colder: not settled", name)
			}
		}
		p, err := run(ctx, j, nil)
		if err != nil {
			t.Fatal(err)
		}
		if p.j.order == nil {
			t.Fatalf("%s: no order is held", name)
		}
		q, err := run(ctx, p.j, nil)
		if err != nil || !reflect.DeepEqual(q.o, p.o) {
			t.Errorf("%s: planned anew it is another plan, %v", name, err)
		}
	}
}

// A coat that is held waits until then, and the plan says how long for; a hold that
// the coat comes after anyway is not told. Of a ring the earliest coat that moves is
// held to its latest start, to the whole minute. By definition.
func TestHeldCoat(t *testing.T) {
	ctx := context.Background()
	j := rings(t)["at once"]
	free, err := run(ctx, j, nil)
	if err != nil {
		t.Fatal(err)
	}
	now := free.sky.from
	with := func(from map[spot]time.Duration) *planner {
		k := *free.j
		k.order = &heldOrder{from: from}
		p, err := sections(ctx, &k, now.sky)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	at, other := spot{"grout", 2}, spot{"prime", 1}
	was := free.done[at].start
	p := with(map[spot]time.Duration{at: was + 90*time.Minute, other: time.Second})
	if len(p.holds) != 1 || p.holds[0].spot != at || p.done[at].start < was+90*time.Minute || p.holds[0].start != p.done[at].start || p.holds[0].could >= was+90*time.Minute {
		t.Errorf("held from %v to %v: %+v, starts at %v", was, was+90*time.Minute, p.holds, p.done[at].start)
	}
	h := (&heldOrder{oneByOne: true}).raised([]lap{{now, free}, {now, p}})
	if h == nil || !h.oneByOne || len(h.from) != 1 || h.from[at] != minute(p.done[at].start) {
		t.Errorf("%+v, want %v held to %v", h, at, p.done[at].start)
	}
	if (&heldOrder{}).raised([]lap{{now, free}, {now, free}}) != nil {
		t.Error("nothing moves, and a coat is held")
	}
	// Told as any finding.
	f := Finding{Key: "held-for-own-water", Severity: Note, Step: "grout", Found: Amount{units.Span(90 * time.Minute)}, Owner: "this plan"}
	if text := f.Sentence(units.SI); !strings.HasPrefix(text, "It is held for 1h 30m: ") {
		t.Error(text)
	}
	// No rounds, no plan.
	if q, err := settle(ctx, j, free, 0, false); q != nil || err != nil {
		t.Errorf("%v, %v", q, err)
	}
}

// An order that cannot be finished is worse than one that misses windows: a step
// that never comes takes those behind it along. By definition.
func TestMissedCountsWhatNeverComes(t *testing.T) {
	j := rings(t)["at once"]
	p, err := run(context.Background(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	was := p.missed()
	delete(p.done, spot{"grout", 2})
	delete(p.done, spot{"seal", 2})
	if got := p.missed(); got != was+2 {
		t.Errorf("%d missed without grout and seal of a section, %d with", got, was)
	}
}
