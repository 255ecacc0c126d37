package systems_test

import (
	"math"
	"testing"
	"time"
)

// Nobody is counted twice: the crew that spreads and the one that broadcasts
// are the same. Common practice, no source; the times by hand from the recipe's
// rates per hand, 350 ft2/h to spread, 800 ft2/h to throw, 20 min to set up.
func TestCrewIsCountedOnce(t *testing.T) {
	for _, tc := range []struct {
		hands string
		want  float64 // h, from the start of the body coat to its end
	}{
		{"1", 1.0/3 + 800.0/350 + 800.0/800},
		{"3", 1.0/3 + (800.0/350+800.0/800)/3},
	} {
		o := planOf(t, changed(t, "hands = 3", "hands = "+tc.hands))
		body, throw := one(t, o, "body"), one(t, o, "throw")
		if got := body.End.Sub(body.Start).Hours(); math.Abs(got-tc.want) > 1.0/3600 {
			t.Errorf("%s hands: body takes %.4f h, want %.4f", tc.hands, got, tc.want)
		}
		if lag := throw.End.Sub(body.End); lag != 10*time.Minute || throw.Start.Sub(body.Start) != 30*time.Minute {
			t.Errorf("%s hands: throwing begins %v after the coat and ends %v after it, want setting up and the lag, and the lag", tc.hands, throw.Start.Sub(body.Start), lag)
		}
		if got := (body.Crew + throw.Crew).Duration().Hours(); math.Abs(got-tc.want) > 2.0/3600 {
			t.Errorf("%s hands: crew %.4f h in all, want %.4f", tc.hands, got, tc.want)
		}
		if has(o, "throw", "one-pair-of-hands") != (tc.hands == "1") {
			t.Errorf("%s hands: %+v", tc.hands, o.Findings)
		}
	}
	// At most one throws: spreading waits for him. 800 ft2 at 250 ft2/h.
	o := planOf(t, baseJob+"[steps.throw]\nhands = 1\nrate = \"250 ft2/h\"\n")
	if body := one(t, o, "body"); math.Abs(body.End.Sub(body.Start).Hours()-1.0/3-3.2) > 1.0/3600 {
		t.Errorf("one of three throws: %v to %v", body.Start, body.End)
	}
}

// The grain is down before the shift ends. Common practice, no source.
func TestBroadcastInsideTheShift(t *testing.T) {
	short := changed(t, "from = \"07:00\"\nto = \"17:00\"", "from = \"13:00\"\nto = \"15:00\"", "recipe = \"quartz-broadcast@1.1.0\"", "recipe = \"two-course-overlay\"")
	for _, area := range []string{"300 ft2", "800 ft2", "1500 ft2", "3000 ft2"} {
		j := planOf(t, short+"[steps.throw-2]\nrate = \"350 ft2/h\"\n[areas.b]\narea = \""+area+"\"\n")
		for _, step := range []string{"throw-1", "throw-2"} {
			for _, w := range works(j, step) {
				if h := float64(w.End.Hour()) + float64(w.End.Minute())/60; h > 15 {
					t.Errorf("%s more: %s [%d] ends %v, the shift at 15:00", area, step, w.Section, w.End)
				}
			}
		}
	}
	if len(planOf(t, short).Schedule) == 0 {
		t.Error("no plan")
	}
}

// Setting up to throw takes its time too. Common practice, no source.
func TestSetupOfTheBroadcast(t *testing.T) {
	was, is := one(t, planOf(t, baseJob), "body"), one(t, planOf(t, baseJob+"[steps.throw]\nsetup = \"30m\"\n"), "body")
	if more := is.End.Sub(is.Start) - was.End.Sub(was.Start); more != 30*time.Minute || is.Crew != was.Crew {
		t.Errorf("30 min to set up the throwing: %v more, crew %v and %v", more, is.Crew, was.Crew)
	}
}
