package systems

import (
	"errors"
	"slices"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// A Working is what lies behind a plan's amounts, for packages that compute them
// again for another film, or price them: see [Outcome.Working].
type Working struct {
	Takings []Taking
	Stints  []Stint
	Fuels   []FuelUse
	Prices  *Prices   // of the job; nil if it gives none
	Past    []PastUse // of the job
	Hands   int
	Shift   time.Duration
	Days    []time.Time // on site, from the first work's to the last one's: midnights in the job's offset
	Shifts  []time.Time // those of the days on which a shift begins

	scatter func(string) (Scatter, error)
}

// A Taking is a step that takes material, with what its amounts hang on.
type Taking struct {
	Need     Need
	Step     Step
	Material Material
	Sand     *Material      // filler; nil if there is none
	Method   string         // of a coat: how it is put down, a film's scatter
	Keeps    units.Fraction // of a broadcast: share of the thrown grain that stays
	Unknown  []string       // of a coat that drinks: areas whose uptake is not known
	Batch    units.Volume   // the most that is mixed at once, also where the plan needs less; 0: nothing is mixed
	Told     units.Fraction // share that is done, of which the job tells what it took
	Took     units.Quantity // that, a Volume or of a broadcast a Mass; nil if nothing is told
}

// A Stint is work of one step that falls on one day.
type Stint struct {
	Step  string
	Day   time.Time     // midnight in the job's offset, of the day its shift begins
	Hands time.Duration // hand-hours
	Done  bool          // by the job's now
}

// A FuelUse is what a heater burns over the heat plan.
type FuelUse struct {
	Heater string
	ID     string // of the fuel, or [Electricity]
	Name   string
	Mass   units.Mass
	Volume units.Volume
	Energy units.Energy // on the higher heating value
	Span   time.Duration
}

// Bed returns what a broadcast into a wet
// film holds and leaves open: the plan's own formula.
func (x *Taking) Bed(film units.Length) (aggregate.Bed, error) {
	return bedOf(&x.Step, &x.Material, film)
}

// Scatter returns the scatter called id of the data that the plan was made with.
func (w *Working) Scatter(id string) (Scatter, error) { return w.scatter(id) }

// Working returns what lies behind the plan's amounts. It is an error for an
// outcome read from JSON, which does not hold it: [Replay] makes one that does.
func (o *Outcome) Working() (*Working, error) {
	if o == nil || o.job == nil {
		return nil, errors.New("systems.Working: the outcome was not made by Plan: want Replay for one read from JSON")
	}
	p := &planner{j: o.job, used: map[string]Limit{}}
	if err := p.index(); err != nil {
		return nil, err
	}
	w := &Working{Prices: o.job.prices, Past: slices.Clone(o.job.past), Hands: o.job.Crew.Hands, Shift: o.job.Crew.To - o.job.Crew.From, scatter: o.job.catalog.Scatter}
	for _, n := range o.TakeOff {
		s := p.step(n.Step)
		t := Taking{Need: n, Step: *s, Material: *p.material(n.Step), Keeps: 1}
		if m, ok := p.materials[s.Sand]; ok && n.Sand > 0 {
			t.Sand = m
		}
		switch s.Does {
		case Coat:
			t.Method = o.job.method(n.Step, s, n.Wet)
			if n.Profile > 0 || n.Uptake > 0 || s.First {
				for _, a := range o.job.Areas {
					if !a.UptakeKnown {
						t.Unknown = append(t.Unknown, a.Name)
					}
				}
			}
		case Broadcast:
			t.Keeps = keeps(s, &t.Material)
		}
		if b := n.Batches; b != nil {
			if t.Batch = b.Largest; b.Binding == "need" {
				t.Batch = max(t.Batch, p.material(n.Step).holds())
			}
		}
		t.Told, t.Took = o.job.told(n.Step, &t.Material, o.Sections)
		w.Takings = append(w.Takings, t)
	}
	w.days(p, o)
	if h := o.Heat; h != nil {
		for i, x := range h.Heaters {
			use := FuelUse{Heater: x.Name, ID: Electricity, Name: "electricity", Mass: x.Burned, Volume: x.Volume, Energy: x.TakenIn, Span: h.Until.Sub(o.Start)}
			if f := o.job.Site.Heaters[i].Fuel; f.ID != "" {
				use.ID, use.Name = f.ID, f.Name
			}
			w.Fuels = append(w.Fuels, use)
		}
	}
	return w, nil
}

// ByDay returns the hand-hours of each day on site, and of each other day with
// work (a night shift may begin the day before the first): those that are over and
// those to come; and whether a shift begins on it, in their order.
func (w *Working) ByDay() (done, worked []time.Duration, shift []bool) {
	over, by := map[time.Time]time.Duration{}, map[time.Time]time.Duration{}
	days := slices.Clone(w.Days)
	for _, s := range w.Stints {
		if s.Done {
			over[s.Day] += s.Hands
		} else {
			by[s.Day] += s.Hands
		}
		if !slices.Contains(days, s.Day) {
			days = append(days, s.Day)
		}
	}
	slices.SortFunc(days, func(a, b time.Time) int { return a.Compare(b) })
	for _, d := range days {
		done, worked, shift = append(done, over[d]), append(worked, by[d]), append(shift, slices.Contains(w.Shifts, d))
	}
	return done, worked, shift
}

// keeps returns the share of the thrown grain that stays.
func keeps(s *Step, m *Material) units.Fraction {
	switch {
	case s.Keeps.Given():
		return s.Keeps.Q
	case m.Retention.Given():
		return m.Retention.Q
	}
	return 1
}

// rolled is the thickest wet film that is taken as laid by roller where the job
// does not say. Common practice, no source.
const rolled = 9 * units.Mil

// method says how a coat is put down: as the job says, or by what it is. A coat
// on the base's face by brush, a grout flooded over grain, a mortar or slurry by
// screed box (5 mm and more) or rake, a thin coat by roller, a thicker one by
// squeegee. Common practice, no source.
func (j *Job) method(id string, s *Step, wet units.Length) string {
	switch m := j.methods[id]; {
	case m != "":
		return m
	case s.Only == "base":
		return "brush"
	case s.Sand != "" && s.Ratio.Q > 0 && wet >= 5*units.Millimetre:
		return "screed"
	case s.Sand != "" && s.Ratio.Q > 0:
		return "rake"
	case s.Fills != "":
		return "flood"
	case wet <= rolled:
		return "roller"
	}
	return "squeegee"
}

// shiftDay returns the day, counted from the job's first, of the shift that is
// open at t, or of t itself.
func (p *planner) shiftDay(t time.Duration) time.Duration {
	base := p.midnight()
	if t+base-day >= 0 && p.j.Crew.To > day && (t+base)%day < p.j.Crew.To-day {
		t -= day
	}
	return (t + base) / day
}

// days shares the work out among the days, and works out those on site: from the
// first work's to the last one's. Work that is left overnight is shared by the
// time of each shift that it covers; a coat or a broadcast is of the shift that it
// begins in. Before the first work nobody is on site, though the job has begun.
func (w *Working) days(p *planner, o *Outcome) {
	dayOf := func(t time.Duration) time.Time { return o.Start.Add(-p.midnight() + p.shiftDay(t)*day) }
	var last time.Time
	for _, x := range o.Schedule {
		if x.Crew <= 0 {
			continue
		}
		hands := p.hands(p.step(x.Step))
		start, end := x.Start.Sub(o.Start), x.End.Sub(o.Start)
		type part struct {
			day  time.Time
			time time.Duration
		}
		var parts []part
		var sum time.Duration
		if x.Does != Coat && x.Does != Broadcast {
			for at, until := p.open(start); at < end; at, until = p.open(until) {
				t := min(until, end) - at
				parts, sum = append(parts, part{dayOf(at), t}), sum+t
			}
		}
		if sum <= 0 {
			parts, sum = []part{{dayOf(start), 1}}, 1
		}
		for _, y := range parts {
			w.Stints = append(w.Stints, Stint{x.Step, y.day, time.Duration(float64(x.Crew) * hands * (float64(y.time) / float64(sum))), x.Status == WorkDone})
		}
		last = latest(last, latest(parts[len(parts)-1].day, dayOf(max(start, end-1)))) // what ends as a day does is not of the next
	}
	if len(w.Stints) == 0 {
		return
	}
	first := slices.MinFunc(w.Stints, func(a, b Stint) int { return a.Day.Compare(b.Day) }).Day
	for at := first; !at.After(last); at = at.Add(day) {
		w.Days = append(w.Days, at)
		if !slices.Contains(p.j.Crew.Rest, at.Weekday()) {
			w.Shifts = append(w.Shifts, at)
		}
	}
}
