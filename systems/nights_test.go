package systems

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/data/units"
)

// The demo's nights: the sections of its findings that lie in a night stand there
// too, and only those; the nights lie between the work, in order, one after the
// other; their lowest temperatures are those of the hours. Common practice, no
// source: a foreman asks what lies wet, how cold it gets, and what that breaks.
func TestNights(t *testing.T) {
	holds := func(t rapid.TB, text string) {
		_, o := planned(t, text)
		for i, n := range o.Nights {
			if !n.Until.After(n.From) || i > 0 && n.From.Before(o.Nights[i-1].Until) {
				t.Fatalf("night %d: %v to %v", i, n.From, n.Until)
			}
			for _, w := range o.Schedule {
				if (w.Does == Coat || w.Does == Broadcast) && w.Start.Before(n.Until) && w.End.After(n.From) {
					t.Fatalf("%s, %v to %v, is in the night %v to %v", w.Step, w.Start, w.End, n.From, n.Until)
				}
			}
			if o.Heat == nil {
				continue
			}
			for _, h := range o.Heat.Hours {
				if !h.At.Before(n.From) && !h.At.After(n.Until) && (float64(h.Slab.Sub(n.LowestSlab)) < -0.05 || float64(h.Air.Sub(n.LowestAir)) < -0.1) {
					t.Fatalf("at %v slab %v, air %v; the night's lowest %v, %v", h.At, h.Slab, h.Air, n.LowestSlab, n.LowestAir)
				}
			}
		}
		// Each finding of what lies wet is in the nights that it reaches into.
		for _, f := range o.Findings {
			key, later := strings.CutSuffix(f.Key, "-before-tack-free")
			if !later || f.Until == nil {
				continue
			}
			for _, n := range o.Nights {
				if f.Until.Sub(n.From) < time.Minute || n.Until.Sub(*f.When) < time.Minute {
					continue
				}
				told := false
				for _, b := range n.Broken {
					told = told || b.Key == key && b.Step == f.Step && b.Section == f.Section
				}
				// A finding spans its spells from first to last: one of several may lie in no night.
				if !told && !f.When.Before(n.From) && f.Until.Before(n.Until) {
					t.Fatalf("%+v is not in the night %v to %v: %+v", f, n.From, n.Until, n.Broken)
				}
			}
		}
		for _, n := range o.Nights {
			for _, b := range n.Broken {
				told := false
				for _, f := range o.Findings {
					told = told || strings.HasPrefix(f.Key, b.Key) && f.Step == b.Step && f.Section == b.Section
				}
				wet := false
				for _, l := range n.Lying {
					wet = wet || l.Step == b.Step && l.Section == b.Section && l.Wet
				}
				if !told || !wet || b.From.Before(n.From) || b.Until.After(n.Until) || b.Worst.Before(b.From) || b.Worst.After(b.Until) || b.Words() == b.Key {
					t.Fatalf("%+v in the night %v to %v: found %v, wet %v", b, n.From, n.Until, told, wet)
				}
			}
		}
	}
	holds(t, string(DemoJob()))
	rapid.Check(t, func(t *rapid.T) { holds(t, drawCoupled(t)) })
}

// The demo's night of the front, by hand from its forecast: the heat is out from
// the evening on, the body coat wet into the night, its air below 50 °F from half
// past eight. In JSON too.
func TestNightOfTheFront(t *testing.T) {
	_, o := planned(t, string(DemoJob()))
	text, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	var back struct {
		Nights []struct {
			From, Until time.Time
			Lying       []struct {
				Step string
				Wet  bool
				Free time.Time
				Next string
			}
			LowestSlab units.Temperature `json:"lowest_slab"`
			Broken     []struct{ Key, Step, Found, Asked string }
			Dry        []struct {
				Heater string
				From   time.Time
			}
		}
	}
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	for _, n := range back.Nights {
		if n.From.Format("Mon") != "Fri" {
			continue
		}
		if len(n.Lying) != 1 || n.Lying[0].Step != "body" || !n.Lying[0].Wet || n.Lying[0].Next != "sweep" || len(n.Broken) != 1 || n.Broken[0].Key != "air-too-cold" || n.Broken[0].Found == "" || len(n.Dry) != 1 || n.Dry[0].Heater != "rented" {
			t.Errorf("%+v", n)
		}
		if at := n.Dry[0].From; !at.Equal(o.Heat.Heaters[0].Empty[0]) {
			t.Errorf("no heat from %v, the tank is dry %v", at, o.Heat.Heaters[0].Empty)
		}
		return
	}
	t.Errorf("no night of Friday: %+v", back.Nights)
}
