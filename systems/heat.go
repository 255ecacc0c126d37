package systems

import (
	"fmt"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A HeatPlan is how the space fares with its heat, over the weather outdoors
// that the job gives.
type HeatPlan struct {
	Until          time.Time         `json:"until"` // the end of the forecast
	Heaters        []HeaterUse       `json:"heaters"`
	LowestSlab     units.Temperature `json:"lowest_slab"`
	LowestSlabAt   time.Time         `json:"lowest_slab_at"`
	LowestMargin   units.TempDelta   `json:"lowest_margin"` // of the slab above the dew point
	LowestMarginAt time.Time         `json:"lowest_margin_at"`
	VentedMargin   *units.TempDelta  `json:"vented_margin,omitempty"` // the same with the exhaust of unvented heaters led outdoors
	CO2            units.Fraction    `json:"co2"`                     // the most in the space, by volume
	Water          *HeatWater        `json:"water,omitempty"`         // nil if the work gives none
	Hours          []HeatHour        `json:"hours"`
}

// A HeatHour is the space at a time.
type HeatHour struct {
	At       time.Time         `json:"at"`
	Outdoors units.Temperature `json:"outdoors"`
	Air      units.Temperature `json:"air"`
	RH       units.Fraction    `json:"rh"`
	Slab     units.Temperature `json:"slab"`
	DewPoint units.Temperature `json:"dew_point"`
	Power    units.Power       `json:"power"` // taken in by the heaters
	Fuel     []units.Mass      `json:"fuel"`  // left, by heater
}

// A HeaterUse is what a heater, or several alike, burn.
type HeaterUse struct {
	Name     string       `json:"name"`
	Class    string       `json:"class"` // id
	Words    string       `json:"words"` // the class in words
	Fuel     string       `json:"fuel"`  // in words; "" for electric
	Count    int          `json:"count"`
	Max      units.Power  `json:"max"` // of all of them, taken in
	Burned   units.Mass   `json:"burned"`
	Volume   units.Volume `json:"volume"`             // of Burned, liquid (gas for natural gas)
	TakenIn  units.Energy `json:"taken_in"`           // on the higher heating value
	WouldUse units.Mass   `json:"would_use"`          // if the tank did not run dry
	Empty    []time.Time  `json:"empty,omitempty"`    // when the tank runs dry
	Refilled []time.Time  `json:"refilled,omitempty"` // when it is refilled
}

// heat reports on the site's heat and judges it.
func (p *planner) heat() error {
	s := p.j.Site
	if s == nil {
		return nil
	}
	if !s.costed {
		if err := s.costs(); err != nil {
			return err
		}
	}
	f := s.Forecast
	h := &HeatPlan{Until: p.j.Start.Add(s.Span), Water: p.heatWater()}
	slab, at1, err1 := f.LowestSurface(0, s.Span)
	margin, at2, err2 := f.LowestMargin(0, s.Span)
	if err1 != nil || err2 != nil {
		return fmt.Errorf("systems.Plan: the space's forecast is empty")
	}
	h.LowestSlab, h.LowestSlabAt, h.LowestMargin, h.LowestMarginAt = slab, *p.clock(at1), margin, *p.clock(at2)
	h.VentedMargin = s.vented
	var peak time.Duration
	for i := range f.States {
		if x := &f.States[i]; x.CO2 > h.CO2 {
			h.CO2, peak = x.CO2, x.At
		}
	}
	for i, x := range s.Heaters {
		use := HeaterUse{Name: x.Name, Class: x.Class.ID, Words: x.Class.Name, Fuel: x.Fuel.Name, Count: x.Count, Max: s.Room.Heaters[i].Max, Burned: f.Balance.Fuel[i], WouldUse: s.wouldUse[i]}
		if x.Fuel.ID != "" {
			use.Volume = use.Burned.Volume(x.Fuel.Density.Q)
			use.TakenIn = units.Energy(float64(use.Burned) * float64(x.Fuel.HHV.Q))
		} else {
			use.TakenIn = f.Balance.TakenBy[i]
		}
		for _, e := range f.Events {
			switch {
			case e.Heater != i:
			case e.What == climate.TankEmpty:
				use.Empty = append(use.Empty, *p.clock(e.At))
			case e.What == climate.TankRefilled:
				use.Refilled = append(use.Refilled, *p.clock(e.At))
			}
		}
		h.Heaters = append(h.Heaters, use)
	}
	i := 0
	for at := time.Duration(0); at <= s.Span; at += time.Hour {
		for f.States[i].At < at {
			i++
		}
		x := &f.States[i]
		out, err := s.Outdoors.At(at)
		if err != nil {
			return err
		}
		hour := HeatHour{At: *p.clock(at), Outdoors: out.Temp, Air: x.Air, RH: x.RH, Slab: x.Surface, DewPoint: x.DewPoint, Power: x.Power}
		for k := range s.Heaters {
			hour.Fuel = append(hour.Fuel, x.Fuel[k])
		}
		h.Hours = append(h.Hours, hour)
	}
	p.o.Heat = h
	return p.judgeHeat(peak)
}

// judgeHeat tells what goes wrong with the heat.
func (p *planner) judgeHeat(peak time.Duration) error {
	s, h := p.j.Site, p.o.Heat
	f := s.Forecast
	for _, stretch := range p.stretches(climate.TankEmpty, climate.TankRefilled, true) {
		x := s.Heaters[stretch.heater]
		p.find(Finding{Key: "tank-runs-dry", Severity: Stop, When: p.clock(stretch.from), Until: p.clock(stretch.to), Found: Amount{h.Heaters[stretch.heater].WouldUse}, Owner: "this plan", Limit: x.Name})
	}
	for _, stretch := range p.stretches(climate.HeatersAtMaximum, climate.HeatersHold, false) {
		if stretch.to-stretch.from >= time.Hour {
			low := f.States[0].Air
			for i := range f.States {
				if x := &f.States[i]; x.At >= stretch.from && x.At <= stretch.to && (x.Air.Less(low) || x.At <= stretch.from+s.Steps) {
					low = x.Air
				}
			}
			p.find(Finding{Key: "heaters-at-maximum", Severity: Watch, When: p.clock(stretch.from), Until: p.clock(stretch.to), Found: Amount{low}, Asked: Amount{p.set(stretch.to - 1)}, Owner: "the thermostat"})
		}
	}
	for _, stretch := range p.stretches(climate.Condensing, climate.NotCondensing, false) {
		p.find(Finding{Key: "slab-sweats", Severity: Watch, When: p.clock(stretch.from), Until: p.clock(stretch.to), Found: Amount{-p.lowest(stretch.from, stretch.to)}, Owner: "this plan"})
	}
	var asked units.TempDelta
	if err := asked.UnmarshalText([]byte(p.j.Margin.Value)); err != nil {
		return err
	}
	if v := h.VentedMargin; v != nil && h.LowestMargin < asked && *v-h.LowestMargin > 0.5 {
		p.find(Finding{Key: "unvented-heat-damps", Severity: Watch, When: &h.LowestMarginAt, Found: Amount{h.LowestMargin}, Asked: Amount{*v}, Owner: p.j.Margin.Owner, Limit: p.j.Margin.ID})
	}
	if l, ok := p.limit("co2-pel"); ok && h.VentedMargin != nil {
		var most units.Fraction
		if err := most.UnmarshalText([]byte(l.Value)); err != nil {
			return err
		}
		if h.CO2 > most {
			p.find(Finding{Key: "carbon-dioxide", Severity: Stop, When: p.clock(peak), Found: Amount{h.CO2}, Asked: Amount{most}, Owner: l.Owner, Limit: l.ID})
		}
	}
	p.judgeFlames()
	return nil
}

// set returns what the thermostat is set to at a time.
func (p *planner) set(at time.Duration) units.Temperature {
	var t units.Temperature
	for _, s := range p.j.Site.Room.Thermostat {
		if s.At <= at {
			t = s.Temp
		}
	}
	return t
}

// lowest returns the least margin of the slab in a stretch of time.
func (p *planner) lowest(from, to time.Duration) units.TempDelta {
	low, _, err := p.j.Site.Forecast.LowestMargin(from, to)
	if err != nil { // shorter than a step: it only just sweats
		return 0
	}
	return min(low, 0)
}

// A stretch is from one event of the site's forecast to another, or its end.
type stretch struct {
	from, to time.Duration
	heater   int
}

// stretches returns the times that begin with one event and end with another,
// by heater if each has its own.
func (p *planner) stretches(begin, end string, each bool) []stretch {
	var out []stretch
	open := map[int]int{} // heater -> index of its stretch
	s := p.j.Site
	for _, e := range s.Forecast.Events {
		k := 0
		if each {
			k = e.Heater
		}
		i, ok := open[k]
		switch {
		case e.What == begin && !ok:
			open[k] = len(out)
			out = append(out, stretch{e.At, s.Span, k})
		case e.What == end && ok:
			out[i].to = e.At
			delete(open, k)
		}
	}
	return out
}

// provenance lists the files, figures and cautions of the site's heat.
func (s *Site) provenance(file func(FileID), figure func(where, text string, o Origin), cautions map[string]bool) {
	put := func(f FileID, all origins) {
		file(f)
		for _, o := range all {
			figure(o.where, o.text, o.Origin)
		}
	}
	if s.envelope.ID != "" {
		put(s.envelope.file, s.envelope.figures())
	}
	put(s.film.file, s.film.figures())
	for i := range s.layers {
		put(s.layers[i].file, s.layers[i].figures())
	}
	for i := range s.Heaters {
		h := &s.Heaters[i]
		put(h.Class.file, h.Class.figures())
		for _, c := range h.Class.Cautions {
			cautions[c] = true
		}
		if h.Fuel.ID != "" {
			put(h.Fuel.file, h.Fuel.figures())
		}
	}
}

// KilowattHours says an energy as electricity is metered and paid for, in either
// system of units: three figures, or whole kilowatt-hours from a hundred on.
func KilowattHours(e units.Energy) string {
	k := float64(e / units.KilowattHour)
	if k >= 100 {
		return fmt.Sprintf("%.0f kWh", k)
	}
	return fmt.Sprintf("%.3g kWh", k)
}
