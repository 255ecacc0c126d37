package systems_test

import (
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
