package systems_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"

	"github.com/tackfree/tackfree/data/units"
)

func TestBaseJobIsClean(t *testing.T) { // or the checks that change it show nothing
	if f := planOf(t, baseJob).Findings; len(f) != 0 {
		t.Errorf("%+v", f)
	}
}

// One reading that stands for the whole job does not switch off the checks of
// the other two. Common practice, no source.
func TestOneShortSeries(t *testing.T) {
	demo := read(t, "typed.toml")
	long := planOf(t, demo)
	from := strings.Index(demo, "[temperatures.rh]")
	short := planOf(t, demo[:from]+"[temperatures.rh]\n\"0h\" = \"62 %\"\n")
	if !has(long, "body", "air-too-cold-before-tack-free") || !has(short, "body", "air-too-cold-before-tack-free") {
		t.Errorf("the cold night after the body coat is not told: %+v", short.Findings)
	}
	for _, w := range short.Schedule {
		if w.Step == "grout" && w.Slab.Fahrenheit() < 50 {
			t.Errorf("grout starts on a slab of %v; its sheet asks for 50 °F", w.Slab)
		}
	}
	// The slab typed once, the air dropping in the night after the prime coat.
	o := planOf(t, changed(t, "\"400h\" = \"65 °F\"\n", "", "\"400h\" = \"68 °F\"\n", "\"12h\" = \"68 °F\"\n\"13h\" = \"28 °F\"\n\"21h\" = \"28 °F\"\n\"22h\" = \"68 °F\"\n\"400h\" = \"68 °F\"\n"))
	if len(found(o, "air-too-cold"))+len(found(o, "air-too-cold-before-tack-free")) == 0 {
		t.Errorf("28 °F for eight hours of the night is not told: %+v", o.Findings)
	}
}

// Each series that ends before the floor is cured is told, and only those.
func TestHeldSeries(t *testing.T) {
	limits := func(o *systems.Outcome, key string) (out []string) {
		for _, f := range found(o, key) {
			out = append(out, f.Limit)
		}
		return out
	}
	if got := limits(planOf(t, changed(t, "\"400h\" = \"50 %\"\n", "")), "weather-held"); !slices.Equal(got, []string{"the humidity"}) {
		t.Errorf("humidity typed once: %q", got)
	}
	// Work ends within a week, full service of the epoxy comes after it.
	o := planOf(t, changed(t, "400h", "120h"))
	if o.End.Sub(o.Start) > 120*time.Hour {
		t.Fatal("the work goes on past the readings: the check shows nothing")
	}
	if got := limits(o, "weather-held"); !slices.Equal(got, []string{"the slab's temperature"}) || !o.ServiceHeld || o.FootHeld {
		t.Errorf("cure past the slab's readings: %q, service held %v, foot held %v", got, o.ServiceHeld, o.FootHeld)
	}
	var b strings.Builder
	if err := report.Write(&b, o, units.US); err != nil || !strings.Contains(b.String(), "if the last slab temperature given holds") {
		t.Errorf("the head does not say that full service is held (%v)", err)
	}
}

// Hours that nobody measured are told. Common practice, no source.
func TestBeforeFirstReading(t *testing.T) {
	o := planOf(t, changed(t, "\"0h\"", "\"200h\""))
	f := found(o, "weather-before-first-reading")
	if len(f) != 3 || f[0].When == nil || f[0].Until == nil || !f[0].Until.Before(o.Start.Add(201*time.Hour)) {
		t.Errorf("readings from 200h on: %+v", f)
	}
	if f := found(planOf(t, baseJob), "weather-before-first-reading"); len(f) != 0 {
		t.Errorf("readings from the start on: %+v", f)
	}
}

// Some loggers and editors write a byte-order mark before their text: RFC 3629
// section 6 lets a reader strip it.
func TestByteOrderMark(t *testing.T) {
	job := baseJob[:strings.Index(baseJob, "[temperatures.slab]")] + "[temperatures]\nlog_file = \"log.csv\"\n"
	files := fstest.MapFS{"job.toml": {Data: []byte("\ufeff" + job)}, "log.csv": {Data: []byte("\ufefftime,slab (°F),air (°F),rh (%)\n0h,65,68,50\n400h,65,68,50\n")}}
	j, err := systems.ReadJobFS(files, "job.toml", builtin(t))
	if err != nil || len(j.Weather.Slab) != 2 {
		t.Errorf("%v, %v", j.Weather, err)
	}
}

// A log that is no CSV, or whose numbers have commas, is refused with its line, also
// in the place where quotes stand first. Source: RFC 4180.
func TestLogFaults(t *testing.T) {
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	head, _, _ := strings.Cut(baseJob, "[temperatures.slab]")
	line := strings.Count(head, "\n") + 3 // of the heading
	for rows, want := range map[string]string{
		"time,slab (°C),air (°C),rh (%)\n0\"h,10,10,50\n":    fmt.Sprintf(":%d: log: found a line that is no CSV", line+1),
		"time,slab (°C),air (°C),rh (%)\n0h,10,5,10,50\n":    fmt.Sprintf(":%d: log: found 5 columns: want 4, as the heading has, and a point in numbers", line+1),
		"time,slab (°C),air (°C),rh (%)\n0h,10,10,500 %\n":   fmt.Sprintf(":%d: log.rh: found \"500 %%\": want 1 %% to 100 %%", line+1),
		"time,slab (°C),air (°C),rh (%)\n0h,10,99,50\n":      fmt.Sprintf(":%d: log.air: found \"99 °C\": want -40 °C to 60 °C", line+1),
		"time,slab (°C),wind (m/s)\n0h,10,99\n":              fmt.Sprintf(":%d: log: found column \"wind (m/s)\"", line),
		"time;slab (°C);air (°C);rh (%)\n0h;10,5;10,5;50\n":  fmt.Sprintf(":%d: log: found heading", line),
		"slab (°C),air (°C),rh (%)\n10,10,50\n":              fmt.Sprintf(":%d: log: found no column time", line),
		"time,slab (°C),air (°C),rh (%)\n1h,10,10,50\n1h,,,": fmt.Sprintf(":%d: log.time: found a time not after the one before", line+2),
	} {
		_, err := systems.ReadJob(strings.NewReader(head+"[temperatures]\nlog = '''\n"+rows+"'''\n"), c)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", rows, err, want)
		}
	}
}
