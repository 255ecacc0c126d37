package systems

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// whatIfFile is a table [what_if.<name>] of a job file: disturbances that come
// together.
type whatIfFile struct {
	HeatStops   string                `toml:"heat_stops"`
	For         *units.Span           `toml:"for"`
	NoRefill    string                `toml:"no_refill"` // all, or the time of one
	SmallerTank *units.Mass           `toml:"smaller_tank"`
	Heater      string                `toml:"heater"` // of no_refill and smaller_tank
	Door        string                `toml:"door"`
	DoorFor     *units.Span           `toml:"door_for"`
	AirChanges  *units.Rate           `toml:"air_changes"`
	Warmer      *units.TempDelta      `toml:"warmer"`
	Colder      *units.TempDelta      `toml:"colder"`
	Damper      *units.Fraction       `toml:"damper"`
	Drier       *units.Fraction       `toml:"drier"`
	HandsShort  *int64                `toml:"hands_short"`
	HandsFrom   string                `toml:"hands_from"`
	Delay       map[string]units.Span `toml:"delay"`      // by step
	NotBefore   map[string]string     `toml:"not_before"` // by step
	Option      map[string]string     `toml:"option"`     // by step
	Material    map[string]string     `toml:"material"`   // by step
	Uptake      *units.Fraction       `toml:"uptake"`     // of what is measured
}

// whatIfKeys are its keys, in the order in which what they mean is said.
var whatIfKeys = []string{"heat_stops", "for", "no_refill", "smaller_tank", "heater", "door", "door_for", "air_changes", "warmer", "colder", "damper", "drier",
	"hands_short", "hands_from", "delay", "not_before", "option", "material", "uptake"}

// whatIfs are the disturbances of a job file, by the name of their table.
type whatIfs struct {
	names []string
	of    map[string][]Disturbance
}

// WhatIfs returns the names of the job's tables [what_if.<name>], in its order.
func (j Job) WhatIfs() []string { return slices.Clone(j.ifs.names) }

// whatIf reads the tables [what_if.<name>].
func (p jobReader) whatIf() error {
	p.j.ifs.of = map[string][]Disturbance{}
	var errs []error
	for _, name := range p.d.Under("what_if") {
		f := p.f.WhatIf[name]
		r := ifReader{p.d, p.j, []string{"what_if", name}}
		d, err := r.read(&f)
		errs = append(errs, err)
		p.j.ifs.names = append(p.j.ifs.names, name)
		p.j.ifs.of[name] = d
	}
	return errors.Join(errs...)
}

// Disturbances reads what a person says of what may go wrong: the name of a
// table [what_if.<name>] of the job, or the keys of such a table with spaces,
// each followed by its value, set off by commas: "heat stops 34h, for 6h, colder
// 3 K, delay body 24h". An error says what is wrong and what is allowed.
func (j Job) Disturbances(text string) ([]Disturbance, error) {
	if d, ok := j.ifs.of[text]; ok {
		return slices.Clone(d), nil
	}
	if j.catalog == nil {
		return nil, errors.New("systems.Disturbances: the job was not read by ReadJob")
	}
	var b strings.Builder
	for _, part := range strings.Split(text, ",") {
		line, err := j.asKey(strings.Join(strings.Fields(part), " "))
		if err != nil {
			return nil, err
		}
		b.WriteString(line + "\n")
	}
	var f whatIfFile
	d, err := tomlfile.Decode("what if", []byte(b.String()), &f)
	if err != nil {
		return nil, err
	}
	return ifReader{d, &j, nil}.read(&f)
}

// asKey returns what a person says as a line of a table.
func (j Job) asKey(part string) (string, error) {
	best := ""
	for _, key := range whatIfKeys {
		if said := strings.ReplaceAll(key, "_", " "); strings.HasPrefix(part, said+" ") && len(said) > len(best) {
			best = said
		}
	}
	if best == "" {
		said := make([]string, len(whatIfKeys))
		for i, key := range whatIfKeys {
			said[i] = strings.ReplaceAll(key, "_", " ")
		}
		err := fmt.Sprintf("systems.Disturbances: found %q: want one of %s, each with its value", part, strings.Join(said, ", "))
		if len(j.ifs.names) > 0 {
			err += "; or the name of a table of the job: " + strings.Join(j.ifs.names, ", ")
		}
		return "", fmt.Errorf("%w: %s", units.ErrRange, err)
	}
	key, value := strings.ReplaceAll(best, " ", "_"), part[len(best)+1:]
	switch key {
	case "hands_short":
		if _, err := strconv.ParseInt(value, 10, 64); err != nil {
			return "", fmt.Errorf("%w: systems.Disturbances: hands_short: found %q: want a whole number", units.ErrRange, value)
		}
		return key + " = " + value, nil
	case "delay", "not_before", "option", "material":
		step, rest, _ := strings.Cut(value, " ")
		return key + "." + strconv.Quote(step) + " = " + strconv.Quote(rest), nil
	}
	return key + " = " + strconv.Quote(value), nil
}

// An ifReader reads one table.
type ifReader struct {
	d  *tomlfile.Doc
	j  *Job
	at []string // its key
}

func (r ifReader) bad(key, format string, args ...any) error {
	return r.d.Errorf(append(slices.Clone(r.at), strings.Split(key, "/")...), format, args...)
}

// time reads a time since the job's start.
func (r ifReader) time(key, text string) (time.Duration, error) {
	t, err := moment(text, r.j.Start)
	if err != nil {
		return 0, r.bad(key, "%v", err)
	}
	return t, nil
}

// read makes the disturbances of a table and says what does not fit the job, by
// its keys.
func (r ifReader) read(f *whatIfFile) ([]Disturbance, error) {
	var out []Disturbance
	var errs []error
	// put keeps a disturbance; keys are those of its fields.
	put := func(d Disturbance, keys map[string]string, err error) {
		if errs = append(errs, err); err != nil {
			return
		}
		j := *r.j
		if len(r.at) > 0 { // what a table of the job says may lie behind by now, and the job stands: WhatIf refuses it when it is asked
			j.Now, j.Done = 0, nil
		}
		for _, x := range d.faults(&j) {
			errs = append(errs, r.bad(keys[x.field], "%s", x.problem))
		}
		out = append(out, d)
	}
	for _, x := range []struct {
		key   string
		empty bool
	}{{"heat_stops", f.HeatStops == ""}, {"no_refill", f.NoRefill == ""}, {"heater", f.Heater == ""}, {"door", f.Door == ""}, {"hands_from", f.HandsFrom == ""},
		{"delay", len(f.Delay) == 0}, {"not_before", len(f.NotBefore) == 0}, {"option", len(f.Option) == 0}, {"material", len(f.Material) == 0}} {
		if x.empty && r.d.Defined(append(slices.Clone(r.at), x.key)...) {
			errs = append(errs, r.bad(x.key, "found nothing in it: want it filled in, or left out"))
		}
	}
	span := func(s *units.Span) time.Duration {
		if s == nil {
			return 0
		}
		return s.Duration()
	}
	alone := func(given bool, key, with string) {
		if given {
			errs = append(errs, r.bad(key, "found one without %s: want both", with))
		}
	}
	if f.HeatStops != "" {
		at, err := r.time("heat_stops", f.HeatStops)
		if err == nil && f.For != nil && *f.For == 0 {
			err = r.bad("for", "found 0h: want above 0h, or none for good")
		}
		put(HeatStops{at, span(f.For)}, map[string]string{"At": "heat_stops", "For": "for"}, err)
	} else {
		alone(f.For != nil, "for", "heat_stops")
	}
	switch {
	case f.NoRefill == "all":
		put(NoRefill{Heater: f.Heater}, map[string]string{"At": "no_refill", "Heater": "heater"}, nil)
	case f.NoRefill != "":
		at, err := r.time("no_refill", f.NoRefill)
		if err != nil {
			err = r.bad("no_refill", "found %q: want all, or the time of a refill", f.NoRefill)
		}
		put(NoRefill{f.Heater, &at}, map[string]string{"At": "no_refill", "Heater": "heater"}, err)
	}
	if f.SmallerTank != nil {
		put(SmallerTank{f.Heater, *f.SmallerTank}, map[string]string{"Tank": "smaller_tank", "Heater": "heater"}, nil)
	}
	alone(f.Heater != "" && f.NoRefill == "" && f.SmallerTank == nil, "heater", "no_refill or smaller_tank")
	if f.Door != "" {
		at, err := r.time("door", f.Door)
		if f.DoorFor == nil || f.AirChanges == nil {
			err = r.bad("door", "found no door_for or no air_changes: want both, such as \"2h\" and \"10 1/h\"")
			put(nil, nil, err)
		} else {
			put(DoorOpen{at, span(f.DoorFor), *f.AirChanges}, map[string]string{"From": "door", "For": "door_for", "AirChanges": "air_changes"}, err)
		}
	} else {
		alone(f.DoorFor != nil, "door_for", "door")
		alone(f.AirChanges != nil, "air_changes", "door")
	}
	if err := r.weather(f, put); err != nil {
		errs = append(errs, err)
	}
	if f.HandsShort != nil {
		var from time.Duration
		var err error
		if f.HandsFrom != "" {
			from, err = r.time("hands_from", f.HandsFrom)
		}
		n := *f.HandsShort
		if int64(int(n)) != n { // an int of 32 bits does not hold it
			err = errors.Join(err, r.bad("hands_short", "found %d: want 1 or more, fewer than the crew has", n))
		}
		put(HandsShort{int(n), from}, map[string]string{"Hands": "hands_short", "From": "hands_from"}, err)
	} else {
		alone(f.HandsFrom != "", "hands_from", "hands_short")
	}
	r.bySteps(f, put)
	if f.Uptake != nil {
		var err error
		if v := float64(*f.Uptake); !(v > 0 && v <= 20) {
			err = r.bad("uptake", "found %v: want above 0 %% to 2000 %% of what is measured", *f.Uptake)
		}
		put(MoreUptake{float64(*f.Uptake)}, map[string]string{"Times": "uptake"}, err)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, r.d.Errorf(r.at, "found nothing that goes otherwise: want one of %s", strings.Join(whatIfKeys, ", "))
	}
	return out, nil
}

// weather reads what of the weather is otherwise.
func (r ifReader) weather(f *whatIfFile, put func(Disturbance, map[string]string, error)) error {
	off := WeatherOff{}
	keys := map[string]string{"Temp": "colder", "RH": "drier"}
	given := false
	var errs []error
	const kelvins, shares = "above 0 K to 30 K (54 °F)", "above 0 % to 100 %"
	delta := func(v float64) units.Quantity { return units.TempDelta(v) }
	share := func(v float64) units.Quantity { return units.Fraction(v) }
	for _, x := range []struct {
		key, other, field string
		v                 *float64
		both              bool
		most              float64
		want              string
		set               func(float64)
		said              func(float64) units.Quantity
	}{
		{"warmer", "colder", "Temp", (*float64)(f.Warmer), f.Colder != nil, 30, kelvins, func(v float64) { off.Temp = units.TempDelta(v) }, delta},
		{"colder", "warmer", "Temp", (*float64)(f.Colder), f.Warmer != nil, 30, kelvins, func(v float64) { off.Temp = units.TempDelta(-v) }, delta},
		{"damper", "drier", "RH", (*float64)(f.Damper), f.Drier != nil, 1, shares, func(v float64) { off.RH = units.Fraction(v) }, share},
		{"drier", "damper", "RH", (*float64)(f.Drier), f.Damper != nil, 1, shares, func(v float64) { off.RH = units.Fraction(-v) }, share},
	} {
		switch {
		case x.v == nil:
			continue
		case x.both:
			errs = append(errs, r.bad(x.key, "found %s and %s: want one of them", x.key, x.other))
		case !(*x.v > 0 && *x.v <= x.most*(1+1e-9)):
			errs = append(errs, r.bad(x.key, "found %v: want %s, and %s for the other way", x.said(*x.v), x.want, x.other))
		}
		x.set(*x.v)
		keys[x.field], given = x.key, true
	}
	if err := errors.Join(errs...); err != nil || !given {
		return err
	}
	put(off, keys, nil)
	return nil
}

// bySteps reads what is otherwise with single steps.
func (r ifReader) bySteps(f *whatIfFile, put func(Disturbance, map[string]string, error)) {
	both := func(a, b, id string, too bool) error {
		if too {
			return r.bad(a+"/"+id, "found %s and %s for one step: want one of them", a, b)
		}
		return nil
	}
	for _, id := range slices.Sorted(maps.Keys(f.Delay)) {
		_, too := f.NotBefore[id]
		err := both("delay", "not_before", id, too)
		if by := f.Delay[id].Duration(); err == nil && by <= 0 {
			err = r.bad("delay/"+id, "found %s: want above 0h", hours(by))
		}
		put(StepLate{Step: id, By: f.Delay[id].Duration()}, map[string]string{"Step": "delay/" + id, "By": "delay/" + id}, err)
	}
	for _, id := range slices.Sorted(maps.Keys(f.NotBefore)) {
		at, err := r.time("not_before/"+id, f.NotBefore[id])
		if err == nil && at <= 0 {
			err = r.bad("not_before/"+id, "found %q: want a time after the start", f.NotBefore[id])
		}
		put(StepLate{Step: id, Until: at}, map[string]string{"Step": "not_before/" + id, "Until": "not_before/" + id, "By": "not_before/" + id}, err)
	}
	for _, id := range slices.Sorted(maps.Keys(f.Option)) {
		_, too := f.Material[id]
		err := both("option", "material", id, too)
		if err == nil && f.Option[id] == "" {
			err = r.bad("option/"+id, "found none: want the name of an option")
		}
		put(OtherMaterial{Step: id, Option: f.Option[id]}, map[string]string{"Step": "option/" + id, "Option": "option/" + id}, err)
	}
	for _, id := range slices.Sorted(maps.Keys(f.Material)) {
		var err error
		if f.Material[id] == "" {
			err = r.bad("material/"+id, "found none: want the id of a material")
		}
		put(OtherMaterial{Step: id, Material: f.Material[id]}, map[string]string{"Step": "material/" + id, "Material": "material/" + id, "Option": "material/" + id}, err)
	}
}
