package learn

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A Humid is one reading of relative humidity, over liquid water.
type Humid struct {
	At time.Duration
	RH units.Fraction
}

// A Switch is heat put on or off.
type Switch struct {
	At time.Duration
	On bool
}

// A Room is a space with loggers in it, all times since the job's start.
type Room struct {
	Room     climate.Room    // as the job has it; Envelope and AirChanges are where the search begins
	Outdoors climate.Weather // as logged
	Air      []Logger        // in the space, at least one
	RH       []Humid         // in the space; without it envelope and air changes cannot be told apart
	Heat     []Switch        // all heaters at their maximum, or off, as before the first of them; nil: as the room's thermostat has it
	Surface  []Logger        // of the slab, for its start; none: as the room has it
	AtRest   bool            // as in [Slab]
}

// scatter of readings that the two kinds are weighed by, common practice, no source.
const (
	airScatter   = 0.2  // K
	humidScatter = 0.02 // of relative humidity
)

// Learn finds the conductance of the envelope and, where the humidity was
// logged too, the air changes.
//
// Model: [climate.Room.Forecast] under the weather and the heat that were logged,
// from the first readings, and unless the slab is AtRest from what the days before had
// warmed it by, as in [Slab.Learn]; least squares with a loss that does not believe wild
// readings (see fit). The heat alone tells UA + rho cp V n and no more: the two
// are told apart by the water that the air carries. Where their correlation is
// above 0.97 the air changes are refused: they are kept as the job has them, and
// the envelope is what goes with them.
//
// Accuracy: the 95 % interval holds the truth in 90 % of cases or more where
// slab, contents and heater are what the room says (TestRoomRecovered); where the log
// begins while the slab is warm, or outdoors was not logged before, the envelope is
// within a tenth (TestRoomWeatherUnknown).
// Source: least squares; see fit for the interval.
func (m Room) Learn() (*Result, error) {
	r := &Result{}
	air, err1 := sensors("air", m.Air)
	surface, err2 := sensors("surface", m.Surface)
	err := errors.Join(err1, err2, m.Outdoors.Validate())
	if len(air) == 0 && err1 == nil {
		err = errors.Join(err, errors.New("learn: no logger of the air in the room: want at least one"))
	}
	for i, h := range m.RH {
		if !(h.RH >= 0.01 && h.RH <= 1) || i > 0 && h.At <= m.RH[i-1].At {
			err = errors.Join(err, fmt.Errorf("learn: humidity reading %d: found %v at %s: want 1 %% to 100 %% at rising times", i+1, h.RH, units.DurationText(h.At)))
			break
		}
	}
	for i, h := range m.Heat {
		if i > 0 && h.At <= m.Heat[i-1].At {
			err = errors.Join(err, fmt.Errorf("learn: switch %d of the heat: found it at %s: want it after the one before", i+1, units.DurationText(h.At)))
			break
		}
	}
	if err != nil {
		return nil, err
	}
	r.Flags = (&Slab{}).screen(air, surface, nil)
	outdoors := &sensor{name: "outdoors"}
	for _, x := range m.Outdoors {
		outdoors.at, outdoors.v = append(outdoors.at, x.At), append(outdoors.v, x.Temp.Kelvin())
	}
	outdoors.stretch(r, "the weather outdoors", "the air", air)
	read := believed(air)
	if len(read) == 0 {
		r.note("envelope: no logger of the air is left to believe while the weather outdoors is known")
		return r, nil
	}
	f, err := m.problem(read, believed(surface))
	if err != nil {
		return nil, err
	}
	got, err := f.solve()
	if err != nil {
		r.note("envelope: %v", err)
		return r, nil
	}
	if why := f.refuses(got); why != "" {
		r.note("air changes: the readings do not tell them from the envelope (%s): they are kept as the job has them, and the envelope is what goes with them", why)
		f.kept = true
		f.start, f.step, f.low, f.high, f.known, f.within = f.start[:xChanges], f.step[:xChanges], f.low[:xChanges], f.high[:xChanges], f.known[:xChanges], f.within[:xChanges]
		if got, err = f.solve(); err != nil {
			r.note("envelope: %v", err)
			return r, nil
		}
	}
	f.report(r, got)
	return r, nil
}

// refuses says why the air changes are not told from the envelope, or "".
func (f *roomFit) refuses(s *solved) string {
	switch wide := t95(s.dof) * s.se[xChanges]; {
	case len(f.rh) == 0:
		return "without humidity logged the heat tells only the two together"
	case slices.Contains(s.edge, true):
		return "the search ran to the end of what they can be"
	case s.together(xEnvelope, xChanges) > mostAlike:
		return alike(s.together(xEnvelope, xChanges))
	case !(wide <= 1):
		return fmt.Sprintf("their logarithm is known to %.2f, want 1", wide)
	}
	return ""
}

// Places of the unknowns of a room. The air changes are the last, for they may be kept.
const (
	xEnvelope = 0                // ln W/K
	xWarmed   = 1                // by how much more the days before had warmed the slab, K, as far down as reaches
	xChanges  = 1 + len(reaches) // ln 1/s
)

// A roomNode is a room at one envelope with one air change: its air and its humidity
// as they are, and what a kelvin more does of what its slab was warmed by before.
type roomNode [2][1 + len(reaches)][]float64

// A roomFit is the room's problem of least squares.
type roomFit struct {
	Room
	fit
	air   []*sensor
	zero  time.Duration
	span  time.Duration
	kept  bool // the air changes are those of the job
	nodes map[[2]int]*roomNode
	rh    []Humid
}

// problem puts the room on a clock that begins with the first reading of the air, and
// its readings and unknowns into a fit.
func (m Room) problem(air, surface []*sensor) (*roomFit, error) {
	f := &roomFit{Room: m, air: air, nodes: map[[2]int]*roomNode{}}
	first, last := air[0].at[0], air[0].at[0]
	for _, s := range air {
		first, last = min(first, s.at[0]), max(last, s.at[len(s.at)-1])
	}
	f.zero, f.span = first, max(last-first, outputStep)
	m0, _ := middle(air, first)
	f.Room.Room.Air = units.Kelvin(m0)
	if err := f.slabAt(first, surface); err != nil {
		return nil, err
	}
	f.clock()
	for _, h := range m.RH {
		if h.At >= first && h.At <= last {
			f.rh = append(f.rh, h)
		}
	}
	if len(f.rh) > 0 {
		f.Room.Room.RH = f.rh[0].RH
	}
	for _, s := range air {
		f.series = append(f.series, f.reads(s.v, airScatter))
	}
	f.pairs, f.alongside = beside(air), len(air)
	humid := make([]float64, len(f.rh))
	for i, h := range f.rh {
		humid[i] = float64(h.RH)
	}
	f.series = append(f.series, f.reads(humid, humidScatter))
	f.unknowns(m0)
	f.least = 0.25
	f.model = f.compute
	_, err := f.node(int(math.Round(f.start[xEnvelope]/gridRoom)), int(math.Round(f.start[xChanges]/gridRoom)))
	return f, err
}

// slabAt sets the slab at the first reading: steady below what its loggers say, or
// else as the room has it.
func (f *roomFit) slabAt(first time.Duration, surface []*sensor) (err error) {
	r := &f.Room.Room
	if s := merge(surface); s != nil {
		r.Surface, r.Profile = units.Kelvin(s.value(first)), nil
	}
	if len(r.Profile) > 0 || len(r.Slab.Layers) == 0 {
		return nil
	}
	from := r.Surface
	if from == (units.Temperature{}) {
		from = r.Air
	}
	r.Surface = units.Temperature{} // the profile's
	r.Profile, err = r.Slab.Steady(from)
	return err
}

// clock moves all times of the room to those since the first reading, with the heat as
// it was logged.
func (f *roomFit) clock() {
	r := &f.Room.Room
	f.Outdoors = slices.Clone(f.Outdoors)
	for i := range f.Outdoors {
		f.Outdoors[i].At -= f.zero
	}
	r.Openings, r.Thermostat, r.Heaters = slices.Clone(r.Openings), slices.Clone(r.Thermostat), slices.Clone(r.Heaters)
	for i := range r.Openings {
		r.Openings[i].From -= f.zero
		r.Openings[i].To -= f.zero
	}
	for i := range r.Thermostat {
		r.Thermostat[i].At -= f.zero
	}
	if f.Heat != nil {
		r.Thermostat = nil
		for _, h := range f.Heat {
			s := climate.Setting{At: h.At - f.zero}
			if h.On {
				s.Temp = units.Celsius(60) // never reached: the heaters are at their maximum
			}
			r.Thermostat = append(r.Thermostat, s)
		}
	}
	for i := range r.Heaters { // it burned when it burned
		r.Heaters[i].Tank, r.Heaters[i].Refills = 0, nil
	}
}

// reads adds readings in their own scatter to the fit and returns their places.
func (f *roomFit) reads(v []float64, scatter float64) []int {
	line := make([]int, len(v))
	for i := range v {
		line[i] = len(f.read)
		f.read = append(f.read, v[i]/scatter)
	}
	return line
}

// unknowns are what is looked for, from the air at the first reading on.
func (f *roomFit) unknowns(air float64) {
	r := &f.Room.Room
	ua, n := math.Log(min(max(float64(r.Envelope), 1), 1e5)), math.Log(min(max(float64(r.AirChanges), 0.02/3600), 20./3600)) // the search begins within reason
	f.unknown(ua, 0.03, math.Log(0.3), math.Log(5e5), math.NaN(), 0)
	for _, deep := range reaches {
		within := 1e-3 // as good as none, so that its place stays
		if len(r.Profile) > 0 && !f.AtRest {
			within = drive(air-r.Profile[0].Temp.Kelvin(), &r.Slab) * deep
		}
		f.unknown(0, 0.2, -20, 20, 0, within)
	}
	f.unknown(n, 0.05, math.Log(0.005/3600), math.Log(60./3600), math.NaN(), 0)
}

// gridRoom is the grid of the logarithms between which rooms are interpolated by cubics.
const gridRoom = 0.25

func (f *roomFit) node(i, j int) (*roomNode, error) {
	if n, ok := f.nodes[[2]int{i, j}]; ok {
		return n, nil
	}
	r := f.Room.Room
	r.Envelope, r.AirChanges = units.Conductance(math.Exp(float64(i)*gridRoom)), units.Rate(math.Exp(float64(j)*gridRoom))
	if f.kept {
		r.AirChanges = f.Room.Room.AirChanges
	}
	n := &roomNode{}
	profile := r.Profile
	for c := range n[0] {
		if c > 0 && (f.AtRest || len(profile) == 0) {
			break
		}
		if c > 0 {
			var err error
			if r.Profile, err = warmed(profile, nudgeRoom, reaches[c-1]); err != nil {
				return nil, err
			}
			r.Surface = units.Temperature{} // the profile's
		}
		got, err := r.Forecast(f.Outdoors, f.span+outputStep, outputStep)
		if err != nil {
			return nil, err
		}
		for k := range got.States {
			for q, v := range [2]float64{got.States[k].Air.Kelvin(), float64(got.States[k].RH)} {
				if c > 0 {
					v = (v - n[q][0][k]) / nudgeRoom
				}
				n[q][c] = append(n[q][c], v)
			}
		}
	}
	f.nodes[[2]int{i, j}] = n
	return n, nil
}

// nudgeRoom is by how much the slab's start is moved for what comes of a kelvin, in K.
const nudgeRoom = 3.0

// lines are the air and the humidity at every outputStep.
func (f *roomFit) lines(x []float64) (line [2][]float64, err error) {
	i, wi := cubic(x[xEnvelope] / gridRoom)
	j, wj := 1<<20, [4]float64{0, 1, 0, 0} // one place for those kept
	if !f.kept {
		j, wj = cubic(x[xChanges] / gridRoom)
	}
	by := [1 + len(reaches)]float64{1}
	copy(by[1:], x[xWarmed:xChanges])
	for a, wa := range wi {
		for b, wb := range wj {
			if wa*wb == 0 {
				continue
			}
			n, err := f.node(i+a-1, j+b-1)
			if err != nil {
				return line, err
			}
			for k := range n {
				if line[k] == nil {
					line[k] = make([]float64, len(n[k][0]))
				}
				for c, q := range by {
					for l, v := range n[k][c] {
						line[k][l] += wa * wb * q * v
					}
				}
			}
		}
	}
	return line, nil
}

func (f *roomFit) compute(x, out []float64) error {
	line, err := f.lines(x)
	if err != nil {
		return err
	}
	at := func(k int, t time.Duration) float64 {
		p := float64(t-f.zero) / float64(outputStep)
		l := min(max(int(p), 0), len(line[k])-2)
		return line[k][l] + (line[k][l+1]-line[k][l])*(p-float64(l))
	}
	n := 0
	for _, s := range f.air {
		for _, t := range s.at {
			out[n] = at(0, t) / airScatter
			n++
		}
	}
	for _, h := range f.rh {
		out[n] = at(1, h.At) / humidScatter
		n++
	}
	return nil
}

func (f *roomFit) report(r *Result, s *solved) {
	t := t95(s.dof)
	was := &f.Room.Room
	add := func(name, key string, k int, was units.Quantity, of func(float64) units.Quantity, note string) {
		word, believe := odd(math.Exp(s.x[k]), plainOf(was))
		if !believe {
			r.note("%s: %s", name, word)
			return
		}
		note = join(note, word)
		r.Figures = append(r.Figures, Figure{Key: []string{"room", key}, Name: name, Value: systems.Amount{Q: of(math.Exp(s.x[k]))}, Low: systems.Amount{Q: of(math.Exp(s.x[k] - t*s.se[k]))}, High: systems.Amount{Q: of(math.Exp(s.x[k] + t*s.se[k]))},
			Was: systems.Amount{Q: was}, N: s.n, Effective: s.eff, Basis: learned(s.n), Note: note})
	}
	if s.edge[xEnvelope] || !(t*s.se[xEnvelope] <= 1.4) {
		r.note("envelope: the readings do not tell it (its logarithm is known to %.2f): log the heat and a cold night", t*s.se[xEnvelope])
		return
	}
	note := ""
	if f.kept {
		note = "with the job's air changes"
	}
	add("conductance of the envelope", "ua", xEnvelope, was.Envelope, func(x float64) units.Quantity { return units.Conductance(x) }, note)
	if !f.kept {
		add("air changes with doors shut", "air_changes", xChanges, was.AirChanges, func(x float64) units.Quantity { return units.Rate(x) }, "")
	}
	n := 0
	for _, x := range f.air {
		first, last, wild, worst := -1, 0, 0, 0.0
		for i, at := range x.at {
			off := s.off[n] * airScatter
			r.Residuals = append(r.Residuals, Residual{x.name, at, units.TempDelta(off), units.Fraction(s.weight[n])})
			if s.weight[n] == 0 && math.Abs(off) > 1 {
				if first < 0 {
					first = i
				}
				last = i
				wild++
				if math.Abs(off) > math.Abs(worst) {
					worst = off
				}
			}
			n++
		}
		if wild > 0 {
			r.Flags = append(r.Flags, x.flag(Wild, units.TempDelta(worst), first, last, wild, leftOut))
		}
	}
	sort.SliceStable(r.Flags, func(i, j int) bool { return r.Flags[i].Reading < r.Flags[j].Reading })
}
