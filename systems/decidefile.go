package systems

import (
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// decideFile is the table [decide] of a job: its goal and what may be chosen.
type decideFile struct {
	Goal     string `toml:"goal"`
	HandOver string `toml:"hand_over"`
	Horizon  string `toml:"horizon"` // since the start, or with offset
	Grid     string `toml:"grid"`
	Nodes    int64  `toml:"nodes"`
	Start    struct {
		From  string `toml:"from"`
		To    string `toml:"to"`
		Every string `toml:"every"`
	} `toml:"start"`
	Materials   map[string][]string                         `toml:"materials"`
	Thermostats map[string]map[string]string                `toml:"thermostats"`
	Refills     map[string]map[string]map[string]units.Mass `toml:"refills"`
	Heaters     map[string]map[string]heaterChangeFile      `toml:"heaters"`
}

type heaterChangeFile struct {
	Count *int64      `toml:"count"`
	Tank  *units.Mass `toml:"tank"`
}

// decide reads the goal.
func (p jobReader) decide() error {
	if !p.d.Defined("decide") {
		return nil
	}
	f, g := &p.f.Decide, &p.j.Goal
	g.For, g.HandOver, g.Nodes = f.Goal, f.HandOver, int(f.Nodes)
	if f.Goal != "" && !slices.Contains(goals(), f.Goal) {
		return p.bad("decide/goal", "found %q: want one of %s", f.Goal, strings.Join(goals(), ", "))
	}
	if f.HandOver != "" && f.HandOver != Foot && f.HandOver != Service {
		return p.bad("decide/hand_over", "found %q: want %s or %s", f.HandOver, Foot, Service)
	}
	if f.Nodes < 0 || f.Nodes > 1e9 {
		return p.bad("decide/nodes", "found %d: want 0 (as many as usual) to 1 000 000 000", f.Nodes)
	}
	var errs []error
	since := func(key, text string, to *time.Duration) {
		if text == "" {
			return
		}
		at, err := moment(text, p.j.Start)
		if err == nil && (at < 0 || at > longestHorizon) {
			errs = append(errs, p.bad("decide/"+key, "found %q: want a time from the start to 62 days after it", text))
		} else if err != nil {
			errs = append(errs, p.bad("decide/"+key, "%w", err))
		}
		*to = at
	}
	since("horizon", f.Horizon, &g.Horizon)
	since("start/from", f.Start.From, &g.Start.From)
	since("start/to", f.Start.To, &g.Start.To)
	if f.Start.To != "" && g.Start.To < g.Start.From {
		errs = append(errs, p.bad("decide/start/to", "found %q: want a time not before from", f.Start.To))
	}
	for _, x := range []struct {
		key, text string
		most      time.Duration
		want      string
		to        *time.Duration
	}{{"grid", f.Grid, day, "10m to 24h", &g.Grid}, {"start/every", f.Start.Every, 31 * day, "10m to 31d", &g.Start.Every}} {
		if x.text == "" {
			continue
		}
		d, err := units.ParseDuration(x.text)
		if err != nil || d < 10*time.Minute || d > x.most {
			errs = append(errs, p.bad("decide/"+x.key, "found %q: want %s", x.text, x.want))
		}
		*x.to = d
	}
	g.Materials = f.Materials
	errs = append(errs, p.decideHeat(f, g))
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if g.For == LeastCost && p.j.prices == nil {
		return p.bad("decide/goal", "found %s without prices: want [prices]", LeastCost)
	}
	// What the goal's own check finds is told at its key.
	if p.j.Site == nil && p.d.Defined("room") {
		return nil // the room is at fault, and told
	}
	check := *g
	if len(p.j.Weather.Slab) == 0 || len(p.j.Weather.Air) == 0 || len(p.j.Weather.RH) == 0 {
		return nil // likewise the weather
	}
	if check.For == LeastFuel && (p.j.Site == nil || len(p.j.Site.Heaters) == 0) {
		return p.bad("decide/goal", "found %s, and the job has no room with heaters: want [room.heaters], [room.thermostat] and [outdoors]", LeastFuel)
	}
	for _, x := range []struct {
		key string
		g   Goal
	}{{"materials", Goal{Materials: g.Materials}}, {"thermostats", Goal{Thermostats: g.Thermostats}}, {"refills", Goal{Refills: g.Refills}}, {"heaters", Goal{Heaters: g.Heaters}}} {
		if _, err := x.g.filled(p.j); err != nil {
			return p.bad("decide/"+x.key, "%s", strings.ReplaceAll(oneLine(err).Error(), "systems.Decide: ", ""))
		}
	}
	if _, err := check.filled(p.j); err != nil {
		return p.bad("decide", "%s", strings.ReplaceAll(oneLine(err).Error(), "systems.Decide: ", ""))
	}
	return nil
}

// decideHeat reads the heat that may be had.
func (p jobReader) decideHeat(f *decideFile, g *Goal) error {
	var errs []error
	last := func(full []string, key string, last *time.Duration) (time.Duration, bool) {
		at, err := moment(key, p.j.Start)
		if err == nil && at < *last {
			errs = append(errs, p.d.Errorf(full, "found time %q before the one above it: want rising times", key))
			return 0, false
		}
		if err != nil {
			errs = append(errs, p.d.Errorf(full, "%v", err))
			return 0, false
		}
		*last = at
		return at, true
	}
	for _, name := range p.d.Under("decide", "thermostats") {
		if g.Thermostats == nil {
			g.Thermostats = map[string][]climate.Setting{}
		}
		var all []climate.Setting
		before := -2 * farthest
		for _, key := range p.d.Under("decide", "thermostats", name) {
			full := []string{"decide", "thermostats", name, key}
			at, ok := last(full, key, &before)
			if !ok {
				continue
			}
			set := climate.Setting{At: at}
			if text := f.Thermostats[name][key]; text != "off" {
				if err := set.Temp.UnmarshalText([]byte(text)); err != nil {
					errs = append(errs, p.d.Errorf(full, "%w, or off", err))
				}
			}
			all = append(all, set)
		}
		g.Thermostats[name] = all
	}
	for _, name := range p.d.Under("decide", "refills") {
		if g.Refills == nil {
			g.Refills = map[string]map[string][]climate.Refill{}
		}
		g.Refills[name] = map[string][]climate.Refill{}
		for _, heater := range p.d.Under("decide", "refills", name) {
			all := []climate.Refill{}
			before := -2 * farthest
			for _, key := range p.d.Under("decide", "refills", name, heater) {
				if at, ok := last([]string{"decide", "refills", name, heater, key}, key, &before); ok {
					all = append(all, climate.Refill{At: at, Add: f.Refills[name][heater][key]})
				}
			}
			g.Refills[name][heater] = all
		}
	}
	for _, name := range p.d.Under("decide", "heaters") {
		if g.Heaters == nil {
			g.Heaters = map[string]map[string]HeaterChange{}
		}
		g.Heaters[name] = map[string]HeaterChange{}
		for _, heater := range p.d.Under("decide", "heaters", name) {
			x, to := f.Heaters[name][heater], HeaterChange{}
			if x.Count != nil {
				to.Count = int(min(max(*x.Count, -1), 1e6))
			}
			if x.Tank != nil {
				to.Tank = *x.Tank
			}
			g.Heaters[name][heater] = to
		}
	}
	return errors.Join(errs...)
}
