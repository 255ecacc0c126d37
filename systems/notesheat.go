package systems

import (
	"fmt"

	"github.com/tackfree/tackfree/data/units"
)

// site lists what the forecast of the space is made from.
func (p *planner) site() []arg {
	s := p.j.Site
	in := []arg{fromJob("volume of the space", s.Room.Volume), fromJob("envelope, heat lost", s.Room.Envelope), fromJob("air changes", s.Room.AirChanges),
		{name: "weather outdoors", text: fmt.Sprintf("%d readings", len(s.Outdoors)), origin: Origin{Basis: FromJob}}}
	add := func(file FileID, all origins) {
		for _, o := range all {
			in = append(in, arg{name: o.where, text: o.text, origin: o.Origin, file: &file})
		}
	}
	if s.envelope.ID != "" {
		add(s.envelope.file, s.envelope.figures())
	}
	add(s.film.file, s.film.figures())
	for i := range s.layers {
		add(s.layers[i].file, s.layers[i].figures())
	}
	for i := range s.Heaters {
		in = append(in, p.heaterArgs(i)...)
	}
	return in
}

// heaterArgs lists what is given of one heater.
func (p *planner) heaterArgs(i int) []arg {
	s := p.j.Site
	h := &s.Heaters[i]
	in := []arg{fromJob("most that "+h.Name+" takes in", s.Room.Heaters[i].Max)}
	for _, o := range h.Class.figures() {
		in = append(in, arg{name: o.where, text: o.text, origin: o.Origin, file: &h.Class.file})
	}
	if h.Fuel.ID != "" {
		for _, o := range h.Fuel.figures() {
			in = append(in, arg{name: o.where, text: o.text, origin: o.Origin, file: &h.Fuel.file})
		}
	}
	return in
}

// noteHeat notes how the space fares.
func (p *planner) noteHeat(n notes) {
	h := p.o.Heat
	if h == nil {
		return
	}
	s, in := p.j.Site, p.site()
	const room = "heat and water balance of the space through time (climate.Room)"
	say := func(path, name string, value any, formula string) {
		n["heat."+path] = note{name: name, value: value, formula: formula, in: in, told: true}
	}
	n["heat.until"] = note{name: "end of the forecast", value: h.Until, formula: "the last reading of the weather outdoors, to a quarter of an hour", in: in[3:4], told: true}
	say("lowest_slab", "lowest slab", h.LowestSlab, "the least of the forecast: "+room)
	say("lowest_slab_at", "when the slab is lowest", h.LowestSlabAt, "the least of the forecast: "+room)
	say("lowest_margin", "lowest margin", h.LowestMargin, "slab - dew point, the least of the forecast: "+room)
	say("lowest_margin_at", "when the margin is lowest", h.LowestMarginAt, "slab - dew point, the least of the forecast: "+room)
	if h.VentedMargin != nil {
		say("vented_margin", "lowest margin, vented", *h.VentedMargin, "the same with the exhaust of unvented heaters led outdoors: "+room)
	}
	say("co2", "most carbon dioxide", h.CO2, "the most of the forecast, from what unvented heaters burn: "+room)
	for i := range h.Heaters {
		u, x, at := &h.Heaters[i], &s.Heaters[i], fmt.Sprintf("heaters.%d.", i)
		say(at+"burned", "burned by "+u.Name, u.Burned, room)
		say(at+"would_use", "what "+u.Name+" would use", u.WouldUse, "burned if no tank ran dry: "+room)
		n["heat."+at+"count"] = note{given: ptr(fromJob("count of "+u.Name, u.Count)), value: u.Count}
		n["heat."+at+"max"] = note{name: "most that " + u.Name + " take in", value: u.Max, formula: "one * count", in: []arg{fromJob("one", u.Max/units.Power(u.Count)), of("count", "heat."+at+"count")}}
		if x.Fuel.ID != "" {
			burned := of("burned", "heat."+at+"burned")
			fuel := func(name string, o []origin, k int, value any) arg {
				return arg{name: name, value: value, text: o[k].text, origin: o[k].Origin, file: &x.Fuel.file}
			}
			all := x.Fuel.figures()
			n["heat."+at+"volume"] = note{name: "volume of what " + u.Name + " burns", value: u.Volume, formula: "burned / density", in: []arg{burned, fuel("density", all, len(all)-1, x.Fuel.Density.Q)}}
			n["heat."+at+"taken_in"] = note{name: "taken in by " + u.Name, value: u.TakenIn, formula: "burned * higher heating value", in: []arg{burned, fuel("higher heating value", all, 0, x.Fuel.HHV.Q)}}
		} else {
			say(at+"taken_in", "taken in by "+u.Name, u.TakenIn, room)
		}
		for k, t := range u.Empty {
			say(fmt.Sprintf("%sempty.%d", at, k), "when the tank of "+u.Name+" is empty", t, room)
		}
		for k, t := range u.Refilled {
			say(fmt.Sprintf("%srefilled.%d", at, k), "when the tank of "+u.Name+" is refilled", t, "as the job says")
		}
	}
	for i := range h.Hours {
		x, at := &h.Hours[i], fmt.Sprintf("hours.%d.", i)
		say(at+"at", "hour", x.At, "each full hour from the start")
		n["heat."+at+"outdoors"] = note{name: "air outdoors", value: x.Outdoors, formula: onLine, in: in[3:4], told: true}
		say(at+"air", "air", x.Air, room)
		say(at+"rh", "humidity", x.RH, room)
		say(at+"slab", "slab", x.Slab, room)
		say(at+"dew_point", "dew point", x.DewPoint, room)
		say(at+"power", "taken in by the heaters", x.Power, room)
		for k, left := range x.Fuel {
			say(fmt.Sprintf("%sfuel.%d", at, k), "fuel left of "+s.Heaters[k].Name, left, "the tank and its refills less what was burned: "+room)
		}
	}
}
