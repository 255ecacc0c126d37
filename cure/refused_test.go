package cure_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// negative is a law that gives no time.
type negative struct{}

func (negative) Time(units.Temperature) (time.Duration, error) { return -1, nil }

// A bad argument is an error over units.ErrRange, whichever it is, so that a caller
// tells it from a state such as ErrNotReached. Source: DESIGN.md section 7.
func TestBadArgumentsAreOutOfRange(t *testing.T) {
	c, steady := units.Celsius, climate.Trace{{Temp: units.Celsius(20)}}
	room := c(20)
	law := cure.Table{{Temp: c(10), Time: 2 * h}, {Temp: c(30), Time: h}}
	glassless := kineticSets["K3"]
	glassless.Diffusion = cure.WLF{AtTg: 1, C1: 40, C2: 52}
	var l cure.HumidLaw
	for name, err := range map[string]error{
		"no rows":           errOf(cure.Table{}.Time(room)),
		"no time":           errOf(cure.Table{{Temp: room}}.Time(room)),
		"negative time":     errOf(cure.Table{{Temp: room, Time: -h}}.Time(room)),
		"never":             errOf(cure.Table{{Temp: room, Time: cure.Never}}.Time(room)),
		"two of one row":    errOf(cure.Table{{Temp: room, Time: h}, {Temp: room, Time: 2 * h}}.Time(room)),
		"no temperature":    errOf(cure.Table{{Time: h}}.Time(room)),
		"NaN":               errOf(law.Time(c(math.NaN()))),
		"colder":            errOf(law.Time(c(9.9))),
		"hotter":            errOf(law.Time(c(30.1))),
		"nil law":           errOf(cure.Reach(nil, steady, 0)),
		"nil law at least":  errOf(cure.Reach(cure.AtLeast(nil, h), steady, 0)),
		"nil law at a time": errOf(cure.AtMost(nil, h).Time(room)),
		"nil piece":         cure.Piecewise{{From: c(0), To: c(30)}}.Validate(),
		"no trace":          errOf(cure.Reach(law, nil, 0)),
		"negative law":      errOf(cure.Reach(negative{}, steady, 0)),
		"backwards":         errOf(cure.Progress(law, steady, h, 0)),
		"age backwards":     errOf(cure.EquivalentAge(50e3, room, steady, h, 0)),
		"zero reference":    errOf(cure.EquivalentAge(50e3, units.Temperature{}, steady, 0, h)),
		"zero datum":        errOf(cure.NurseSaul(units.Temperature{}, steady, 0, h)),
		"one row to fit":    errOf(cure.Fit([]cure.Point{{Temp: room, Time: h}})),
		"zero Arrhenius":    errOf(cure.Arrhenius{}.Law().Time(room)),
		"zero Doubling":     errOf(cure.Doubling{}.Law().Time(room)),
		"zero Kinetics":     errOf(cure.Kinetics{}.TimeTo(steady, 0.5)),
		"a over 1":          errOf(kineticSets["K3"].TimeTo(steady, 1.01)),
		"before 0":          errOf(kineticSets["K3"].Convert(steady, []time.Duration{-1})),
		"no glass":          errOf(glassless.Convert(steady, []time.Duration{h})),
		"zero HumidLaw":     errOf(l.Time(room, 0.5)),
		"zero PotLife":      errOf(cure.PotLife{}.Life(pail, 1, room)),
		"nil vessel":        errOf(floorMix.Cooling(nil, 1)),
		"no form":           errOf(floorMix.CriticalSize(0, room)),
		"falling times":     errOf(cure.Exotherm{Kinetics: kineticSets["K3"], Heat: 1e5, Specific: 1800}.Run(room, room, []time.Duration{2, 1})),
	} {
		if !errors.Is(err, units.ErrRange) || errors.Is(err, cure.ErrNotReached) {
			t.Errorf("%s: %v; want an error over units.ErrRange", name, err)
		}
	}
}
