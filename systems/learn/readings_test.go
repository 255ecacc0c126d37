package learn

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

const goodReadings = `kind = "readings"
[loggers]
log = """
time,air (°F),surface a (°C),outdoors (°F),outdoors-rh (%),rh (%)
0h,50,9,40,80,60
1h,60 °F,9.5,41,,
2026-04-07T09:00:00-04:00,64,10,42,78,50
"""
[loggers.heat]
"0h" = "on"
[used.prime.a]
area = "100 ft2"
kits = 0.5
[wet]
body = ["10 mil"]
[grain.throw.a]
thrown = "50 lb"
vacuumed = "20 lb"
[work.clean.a]
area = "100 ft2"
time = "1h"
hands = 1
`

// A file of readings, read; and each fault by its line and key. Common practice, no source.
func TestRead(t *testing.T) {
	j := demo(t)
	r, err := Read(strings.NewReader(goodReadings), j)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Slab.Surface) != 1 || r.Slab.Surface[0].Name != "surface a" || len(r.Slab.Air[0].Trace) != 3 || len(r.Room.RH) != 2 || len(r.Room.Outdoors) != 2 || !r.Room.Heat[0].On ||
		r.Used[0].Used != 2.5*units.Gallon || r.Work[0].Hands != 1 || len(r.Wet[0].Readings) != 1 || r.Grain[0].Thrown != 50*units.Pound {
		t.Errorf("%+v", r)
	}
	for _, tc := range []struct{ old, new, want string }{
		{`kind = "readings"`, `kind = "job"`, "readings:1: kind: found \"job\": want readings"},
		{`kind = "readings"`, "kind = \"readings\"\nschema = 2", "readings:2: schema: found 2"},
		{`kind = "readings"`, "kind = \"readings\"\nscheme = 1", "unknown key \"scheme\""},
		{"time,air", "hour,air", "readings:4: log: found column \"hour"},
		{"surface a (°C)", "air (°C)", "twice"},
		{"surface a (°C)", "floor (°C)", "found column \"floor (°C)\""},
		{",outdoors-rh (%)", ",surface b (°F)", "found one of outdoors and outdoors-rh alone"},
		{"1h,60 °F,9.5", "1h,60 °F,warm", "readings:6: log.surface a"},
		{"1h,60 °F,9.5", "1h,600 °F,9.5", "readings:6: log.air: found \"600 °F\": want -60 °C to 100 °C"},
		{"1h,60 °F,9.5", "0h,60 °F,9.5", "readings:6: log.time: found a time not after"},
		{"1h,60 °F,9.5", "soon,60 °F,9.5", "readings:6: log.time: found time \"soon\""},
		{"1h,60 °F,9.5,41,,", "1h,60 °F,9.5,41,", "readings:6: log: found 5 columns: want 6, as the heading has"},
		{"1h,60 °F,9.5", "1\"h,60 °F,9.5", "readings:6: log: found a line that is no CSV"},
		{"1h,60 °F,9.5", "1h,60 °F,9,5", "readings:6: log: found 7 columns: want 6, as the heading has, and a point in numbers"},
		{"1h,60 °F,9.5", "# moved\n\n1h,60 °F,warm", "readings:8: log.surface a"},
		{`"0h" = "on"`, `"0h" = "half"`, "loggers.heat.0h: found \"half\": want on or off"},
		{"[used.prime.a]", "[used.polish.a]", "used.polish: found step \"polish\""},
		{"[used.prime.a]", "[used.clean.a]", "found step \"clean\", which does clean"},
		{"kits = 0.5", "kits = 0.5\nused = \"1 gal\"", "not one of used and kits"},
		{"kits = 0.5", "kits = -1", "used.prime.a.kits: found -1: want above nothing"},
		{"kits = 0.5", "kits = 1\nof = \"attic\"", "used.prime.a.of: found area \"attic\""},
		{`["10 mil"]`, `["10"]`, "wet.body: reading 1"},
		{`["10 mil"]`, `[10]`, "wet.body"},
		{`vacuumed = "20 lb"`, `vacuumed = "60 lb"`, "want no more back than was thrown"},
		{`vacuumed = "20 lb"`, ``, "grain.throw.a: found no thrown or no vacuumed"},
		{"hands = 1", "hands = 0", "work.clean.a.hands: found 0 hands"},
		{"kits = 0.5", "kits = inf", "used.prime.a.kits: found +Inf: want above nothing"},
		{`area = "100 ft2"
kits`, `area = "100 m2"
of = "store"
kits`, "used.prime.a.area: found 100 m2 done: want above nothing to 29.0"},
		{`body = ["10 mil"]`, `body = []`, "readings:15: wet.body: found no readings"},
		{"hands = 1", "hands = 1\npasses = 2", "work.clean.a.passes: found 2: want 1 to 100, of grinding"},
		{"hands = 1", "hands = 1\ncount = 2", "work.clean.a.count: found 2 of a step that is told by its area"},
		{"hands = 1", "hands = 1\nsetup = \"2h\"", "work.clean.a.time: found 1h, 2h of it setup"},
		{`time = "1h"`, ``, "work.clean.a: found no time"},
	} {
		if !strings.Contains(goodReadings, tc.old) {
			t.Fatalf("no %q", tc.old)
		}
		_, err := Read(strings.NewReader(strings.Replace(goodReadings, tc.old, tc.new, 1)), j)
		if err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %v, want %q", tc.new, err, tc.want)
		}
	}
	now, _, err := j.Revise(systems.Change{Key: []string{"now"}, Value: `"90m"`})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Read(strings.NewReader(goodReadings), now); err == nil || !strings.Contains(err.Error(), "readings:7: log.time: found 2h since the start: want nothing after the job's now, 1h30m") {
		t.Errorf("a reading from the future: %v", err)
	}
	if _, err := Learn(context.Background(), now, Readings{Slab: r.Slab}); err == nil || !strings.Contains(err.Error(), "want none after now, 1h30m") {
		t.Errorf("a reading from the future: %v", err)
	}
	if _, err := Learn(context.Background(), now, Readings{Room: &Room{RH: r.Room.RH}}); err == nil || !strings.Contains(err.Error(), "rh: found a reading at 2h: want none after now, 1h30m") {
		t.Errorf("a humidity from the future: %v", err)
	}
	log := goodReadings[strings.Index(goodReadings, "time,"):strings.LastIndex(goodReadings, `"""`)]
	files := fstest.MapFS{"a/r.toml": {Data: []byte("kind = \"readings\"\n[loggers]\nlog_file = \"l.csv\"\n")}, "a/l.csv": {Data: []byte(log)}}
	if r, err := ReadFS(files, "a/r.toml", j); err != nil || len(r.Slab.Air[0].Trace) != 3 {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := Read(strings.NewReader("kind = \"readings\"\n[loggers]\nlog_file = \"l.csv\"\n"), j); err == nil || !strings.Contains(err.Error(), "not read from a folder") {
		t.Error(err)
	}
}

// No text makes Read panic.
func FuzzRead(f *testing.F) {
	f.Add(goodReadings)
	f.Add("kind = \"readings\"\n[loggers]\nlog = \"time\"")
	c, err := builtin()
	if err != nil {
		f.Fatal(err)
	}
	j, err := systems.ReadJob(strings.NewReader(string(systems.DemoJob())), c)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		Read(strings.NewReader(text), j)
	})
}

// The demo's readings, whose truth is a film of 6.4 W/(m2 K) on a ground of 46
// °F: both lie in their intervals, the logger at the door is named, and the plan
// with them starts what is left at now or later. Source: the readings were made
// by the room's forecast with those figures and 0.14 K of scatter.
func TestDemoReadings(t *testing.T) {
	c, err := builtin()
	if err != nil {
		t.Fatal(err)
	}
	dir := os.DirFS("../../examples/jobplan/testdata")
	j, err := systems.ReadJobFS(dir, "thursday.toml", c)
	if err != nil {
		t.Fatal(err)
	}
	r, err := ReadFS(dir, "readings.toml", j)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Learn(context.Background(), j, r)
	if err != nil {
		t.Fatal(err)
	}
	_, lo, hi := si(figure(t, got, "room.slab.film"))
	if !(lo <= 6.4 && 6.4 <= hi && hi-lo < 1.5) {
		t.Errorf("film %.2f to %.2f", lo, hi)
	}
	_, lo, hi = si(figure(t, got, "room.slab.deep"))
	if want := units.Fahrenheit(46).Kelvin(); !(lo <= want && want <= hi) {
		t.Errorf("ground %.2f to %.2f K", lo, hi)
	}
	if len(got.Flags) != 1 || got.Flags[0].Reading != "surface door" || got.Flags[0].Wrong != Jump || len(got.Residuals) < 200 {
		t.Errorf("flags %+v, %d residuals", got.Flags, len(got.Residuals))
	}
	k, text, err := got.Apply(j)
	if err != nil {
		t.Fatal(err)
	}
	if k.Site.Room.Slab.Film < 5.9 || k.Site.Room.Slab.Film > 6.9 || !strings.Contains(text, "# The demo job on its third day") {
		t.Errorf("film %v", k.Site.Room.Slab.Film)
	}
	o, err := systems.Plan(context.Background(), k)
	if err != nil {
		t.Fatal(err)
	}
	// The past stays as it was done, whatever was learned.
	before := map[string]systems.Work{}
	for _, w := range mustPlan(t, j).Schedule {
		before[fmt.Sprint(w.Step, w.Section)] = w
	}
	done := 0
	for _, w := range o.Schedule {
		if was := before[fmt.Sprint(w.Step, w.Section)]; w.Status != "" {
			if done++; !was.Start.Equal(w.Start) || !was.End.Equal(w.End) && !w.End.After(*o.Now) || was.Status != w.Status {
				t.Errorf("%s was done %v to %v, and is with what was learned %v to %v", w.Step, was.Start, was.End, w.Start, w.End)
			}
		}
		if w.Status == "" && w.Start.Before(*o.Now) {
			t.Errorf("%s starts %v, before now", w.Step, w.Start)
		}
	}
	if done < 3 {
		t.Errorf("%d steps are done", done)
	}
	// What TOML gives is what Apply puts in: pasted over the keys, the same job.
	if _, err := o.Explain("steps.body.gross"); err != nil {
		t.Error(err)
	}
	for _, line := range []string{"[room.slab]\nfilm = \"6.", "[areas.bottling]\nuptake = { value = \"", "[steps.grind]\nrate = { value = \""} {
		if !strings.Contains(got.TOML(), line) {
			t.Errorf("no %q in\n%s", line, got.TOML())
		}
	}
}
