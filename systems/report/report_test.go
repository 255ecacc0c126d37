package report_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

// Columns a page may have. Common practice, no source.
const columns = 100

func text(t *testing.T, o *systems.Outcome, s units.System) string {
	t.Helper()
	var b bytes.Buffer
	if err := report.Write(&b, o, s); err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(b.String(), "\n") {
		if n := utf8.RuneCountInString(line); n > columns {
			t.Errorf("line %d has %d columns: want at most %d: %q", i+1, n, columns, line)
		}
		if strings.Contains(line, "\t") {
			t.Errorf("line %d has a tab: %q", i+1, line)
		}
	}
	return b.String()
}

// A small outcome made by hand. 1 gal = 3.785411784 L; a part of 2:1 by volume
// out of 3 gal is 2 gal and 1 gal.
func small() *systems.Outcome {
	zone := time.FixedZone("", -5*3600)
	at := time.Date(2026, 4, 7, 7, 0, 0, 0, zone)
	utc := at.Add(2 * time.Hour).UTC()
	return &systems.Outcome{
		Job: "Small", Recipe: "r@1.0.0", Title: "Small floor", Start: at, End: at.Add(time.Hour),
		Floor: 100 * units.SquareFoot, Foot: &utc,
		Findings: []systems.Finding{{Key: "too-cold", Severity: systems.Stop, Step: "prime", When: &utc}},
		Schedule: []systems.Work{{Title: "Prime", Start: at, End: at.Add(time.Hour), Binding: "shift begins",
			Slab: units.Fahrenheit(50), Air: units.Fahrenheit(60), RH: 75 * units.Percent,
			Events: []systems.EventTime{{Event: systems.TackFree, At: &utc}, {Event: systems.Foot}, {Event: systems.Service, At: &utc, Held: true}}}},
		Order: []systems.OrderLine{{Name: "primer", Units: 1, Unit: "kit", Volume: 2 * units.Gallon, UnitVolume: 3 * units.Gallon,
			LeftVolume: units.Gallon, Parts: []systems.PartLine{{Name: "resin", Volume: 2 * units.Gallon}, {Name: "hardener", Volume: units.Gallon}}}},
		Files: []systems.FileID{{Kind: "recipe", ID: "r", Version: "1.0.0", Hash: "0123456789abcdef"}},
	}
}

func TestWrite(t *testing.T) {
	got := text(t, small(), units.US)
	for _, want := range []string{
		"Start Tue 7 Apr 07:00",
		"Light foot traffic from Tue 7 Apr 09:00.", // UTC 14:00, told in the job's offset
		"Full service: not reached",
		"STOP  prime Tue 7 Apr 09:00: ",
		"   1 kit of 3 gal: primer; need 2 gal, left over 1 gal",
		"2 gal of resin",
		"tack free Tue 7 Apr 09:00; foot never; service Tue 7 Apr 09:00 *",
		"recipe    r 1.0.0 0123456789ab\n",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("want %q in\n%s", want, got)
		}
	}
	if strings.Index(got, "WHAT TO WATCH") > strings.Index(got, "WHAT TO BUY") {
		t.Error("want findings before the order")
	}
	if si := text(t, small(), units.SI); !strings.Contains(si, "11.4 L") { // 3 gal = 11.356 L
		t.Errorf("want 11.4 L in\n%s", si)
	}
}

func TestWriteDemo(t *testing.T) {
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	j, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	text(t, o, units.US)
	text(t, o, units.SI)
}

// Names come from job and data files and may be long.
func TestWriteLongNames(t *testing.T) {
	o := small()
	long := strings.Repeat("long name ", 12)
	o.Job, o.Place, o.Title = long, long, long
	o.Order[0].Parts[0].Name = long
	o.Build = []systems.Layer{{Title: long}}
	text(t, o, units.US)
}

func TestWriteShortHash(t *testing.T) {
	for _, hash := range []string{"", "0123"} { // an outcome made by hand has none
		o := small()
		o.Files[0].Hash = hash
		text(t, o, units.US)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

var errFull = errors.New("full")

func TestWriteError(t *testing.T) {
	if err := report.Write(full{}, small(), units.US); !errors.Is(err, errFull) {
		t.Errorf("got %v, want the writer's error", err)
	}
}
