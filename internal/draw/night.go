// Package draw draws forecasts of a room, and of a cure, as sheets for print and
// for phones.
package draw

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A NightSheet is what one sheet shows: a night, or some days, of a room over
// its slab. What is zero is left out, unless its field says otherwise.
type NightSheet struct {
	Title, Place string       // one line each; long ones are broken
	Start        time.Time    // local time of the job at the forecast's 0; required
	System       units.System // of the axes and of the clock: US 6 pm, SI 18:00

	Forecast *climate.RoomForecast // 2 states or more, over 30 min to 7 days
	Outdoors climate.Weather
	Limits   climate.Watch // drawn as lines, with what breaks them filled
	Tanks    []string      // names of the heaters' tanks; zero: "tank", or "tank 1" ... of several

	Bands []Band // at most 12
	Marks []Mark // at most 60

	// Width and Height of the sheet, 80 mm to 2 m. Zero Width: 297 mm, A4
	// landscape. Zero Height: that of an A sheet, landscape from 240 mm of width
	// on, else portrait, and below 150 mm, a phone's, 1.8 times the width and more
	// for more than 10 events and marks.
	Width, Height units.Length

	// DPI are the dots per inch of a png, 50 to 600, in all at most 40 million
	// dots; zero: 150. A phone's 400 dots are a Width of 400.0/96 in at 96.
	DPI int
}

// A Band is what a coat asks of the slab while it is placed and cures.
type Band struct {
	Name      string            // "Primer"
	Low, High units.Temperature // at least one
	From, To  time.Duration     // on the forecast's clock; may reach beyond it
}

// A Mark is a moment to point out: a coat goes down, it is tack-free.
type Mark struct {
	At   time.Duration // on the forecast's clock, within it
	Text string

	Faint bool // of a [JobSheet]: worth knowing, but it can stand
}

const (
	fn       = "draw.Night"
	maxMarks = 60
	maxBands = 12
)

// Night draws n as "svg" or "png". The sheet has three panels on one axis of
// time: temperatures with the coats' bands; power taken in and fuel left;
// relative humidity, the margin above the dew point and, once it passes
// 1000 ppm, carbon dioxide. Events and marks stand above as flags; when they are
// too many for that they are numbered, and listed below.
//
// The same sheet gives the same bytes. Fonts are gonum/plot's Liberation Sans;
// an svg carries them. Nothing is written when there is an error, which names
// each field that is wrong.
func Night(w io.Writer, format string, n NightSheet) error {
	if err := checkFormat(fn, format); err != nil {
		return err
	}
	n.defaults()
	if err := n.check(format); err != nil {
		return err
	}
	return n.page().write(w, format, n.Width, n.DPI)
}

// page returns what n shows, made ready to draw.
func (n *NightSheet) page() *page {
	from, to := n.span()
	return &page{fn: fn, Title: n.Title, Place: n.Place, Start: n.Start, System: n.System, From: from, To: to, Height: n.Height, strips: n.strips(), moments: n.moments()}
}

func (n *NightSheet) defaults() {
	events := 0
	if n.Forecast != nil {
		events = len(n.Forecast.Events) + len(n.Marks)
	}
	n.Width, n.Height, n.DPI = sides(n.Width, n.Height, n.DPI, events)
}

func refuse(format string, args ...any) error { return refused(fn, format, args...) }

func (n *NightSheet) check(format string) error {
	var errs []error
	see := func(err error) { errs = append(errs, err) }
	see(checkSides(fn, format, n.Width, n.Height, n.DPI))
	see(checkText("Title", n.Title))
	see(checkText("Place", n.Place))
	if n.Start.IsZero() {
		see(refuse("Start: want the local time at the forecast's 0"))
	}
	if n.System != units.US && n.System != units.SI {
		see(refuse("System = %d: want US or SI", int(n.System)))
	}
	see(n.checkForecast())
	if len(n.Outdoors) > 0 {
		if err := n.Outdoors.Validate(); err != nil {
			see(fmt.Errorf("%s: Outdoors: %w", fn, err))
		}
	}
	for i, t := range n.Tanks {
		see(checkText(fmt.Sprintf("Tanks[%d]", i), t))
	}
	see(n.checkLimits())
	if len(n.Bands) > maxBands {
		see(refuse("Bands: %d: want at most %d", len(n.Bands), maxBands))
	}
	if len(n.Marks) > maxMarks {
		see(refuse("Marks: %d: want at most %d", len(n.Marks), maxMarks))
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	from, to := n.span()
	for i, b := range n.Bands {
		at := fmt.Sprintf("Bands[%d]", i)
		see(checkText(at+".Name", b.Name))
		if b.Low.IsZero() && b.High.IsZero() {
			see(refuse("%s: neither Low nor High: want at least one", at))
		}
		for _, l := range []struct {
			name string
			t    units.Temperature
		}{{".Low", b.Low}, {".High", b.High}} {
			if !l.t.IsZero() {
				see(units.InRange(fn, at+l.name, l.t.Celsius(), -60, 100, "°C"))
			}
		}
		if !b.Low.IsZero() && !b.High.IsZero() && !b.Low.Less(b.High) {
			see(refuse("%s: Low = %v, High = %v: want Low below High", at, b.Low, b.High))
		}
		if b.From >= b.To || b.To <= from || b.From >= to {
			see(refuse("%s: From = %v, To = %v: want From before To, and some of it within the forecast, %v to %v", at, b.From, b.To, from, to))
		}
	}
	for i, m := range n.Marks {
		at := fmt.Sprintf("Marks[%d]", i)
		see(checkText(at+".Text", m.Text))
		if m.At < from || m.At > to {
			see(refuse("%s.At = %v: want within the forecast, %v to %v", at, m.At, from, to))
		}
	}
	return errors.Join(errs...)
}

func (n *NightSheet) span() (from, to time.Duration) {
	s := n.Forecast.States
	return s[0].At, s[len(s)-1].At
}

func (n *NightSheet) checkForecast() error {
	if n.Forecast == nil {
		return refuse("Forecast: none: want one of a room")
	}
	s := n.Forecast.States
	if len(s) < 2 {
		return refuse("Forecast.States: %d: want at least 2", len(s))
	}
	for i := range s {
		r := &s[i]
		if i > 0 && r.At <= s[i-1].At {
			return refuse("Forecast.States[%d].At = %v is not after the one before, at %v: want rising times", i, r.At, s[i-1].At)
		}
		at := fmt.Sprintf("Forecast.States[%d].", i)
		err := errors.Join(units.InRange(fn, at+"Air", r.Air.Celsius(), -100, 200, "°C"), units.InRange(fn, at+"Surface", r.Surface.Celsius(), -100, 200, "°C"),
			units.InRange(fn, at+"DewPoint", r.DewPoint.Celsius(), -150, 200, "°C"), units.InRange(fn, at+"RH", 100*float64(r.RH), 0, 1000, "%"),
			units.InRange(fn, at+"Margin", float64(r.Margin), -300, 300, "K"), units.InRange(fn, at+"Power", float64(r.Power), 0, 1e9, "W"),
			units.InRange(fn, at+"CO2", float64(r.CO2), 0, 1, ""))
		for j, f := range r.Fuel {
			err = errors.Join(err, units.InRange(fn, fmt.Sprintf("%sFuel[%d]", at, j), float64(f), -1e-3, 1e8, "kg"))
		}
		if err != nil {
			return err
		}
	}
	from, to := n.span()
	if to-from < 30*time.Minute || to-from > 7*24*time.Hour {
		return refuse("Forecast.States: from %v to %v: want 30 min to 7 days", from, to)
	}
	for i, e := range n.Forecast.Events {
		at := fmt.Sprintf("Forecast.Events[%d]", i)
		if err := checkText(at+".What", e.What); err != nil {
			return err
		}
		if e.At < from || e.At > to {
			return refuse("%s.At = %v: want within the states, %v to %v", at, e.At, from, to)
		}
		if e.Heater < 0 || e.Heater >= len(s[0].Fuel) {
			return refuse("%s.Heater = %d: want 0 to %d", at, e.Heater, len(s[0].Fuel)-1)
		}
	}
	return nil
}

func (n *NightSheet) checkLimits() error {
	l := n.Limits
	err := errors.Join(units.FromZero(fn, "Limits.Margin", float64(l.Margin), 50, "K"), units.FromZero(fn, "Limits.RH", 100*float64(l.RH), 100, "%"), units.FromZero(fn, "Limits.CO2", float64(l.CO2), 1, ""))
	if !l.Surface.IsZero() {
		err = errors.Join(err, units.InRange(fn, "Limits.Surface", l.Surface.Celsius(), -60, 100, "°C"))
	}
	return err
}

func checkText(field, text string) error { return checkPrint(fn, field, text) }

// moments returns the forecast's events and the marks in the order of time.
func (n *NightSheet) moments() []moment {
	var all []moment
	for _, m := range n.Marks {
		all = append(all, moment{at: m.At, text: m.Text, mark: true})
	}
	for _, e := range n.Forecast.Events {
		text := e.What
		switch e.What {
		case climate.TankEmpty:
			text = n.tank(e.Heater) + " empty"
		case climate.TankRefilled:
			text = n.tank(e.Heater) + " refilled"
		}
		all = append(all, moment{at: e.At, text: text})
	}
	slices.SortStableFunc(all, func(a, b moment) int { return cmp.Compare(a.at, b.at) })
	return all
}

// tanks returns which heaters have one.
func (n *NightSheet) tanks() []int {
	var out []int
	for i := range n.Forecast.States[0].Fuel {
		has := slices.ContainsFunc(n.Forecast.States, func(s climate.RoomState) bool { return s.Fuel[i] > 0 }) ||
			slices.ContainsFunc(n.Forecast.Events, func(e climate.Event) bool {
				return e.Heater == i && (e.What == climate.TankEmpty || e.What == climate.TankRefilled)
			})
		if has {
			out = append(out, i)
		}
	}
	return out
}

func (n *NightSheet) tank(i int) string {
	switch {
	case i < len(n.Tanks) && n.Tanks[i] != "":
		return n.Tanks[i]
	case len(n.tanks()) == 1:
		return "tank"
	}
	return fmt.Sprintf("tank %d", i+1)
}
