// Package confidence says how sure an order is: it draws the amounts of a plan
// many times over, with the scatter that films, pores, patches, waste and loose
// grain have from job to job, and counts how many kits and bags each draw takes.
//
// Every draw is worked out whole. A film that comes out thicker holds more
// grain and leaves other voids, which the grout then fills: the bed is the plan's
// own ([systems.Taking.Bed], from aggregate.ToRefusal). Edges and faces scatter with
// their coat's film, a texture measured on a crust as voids do. Uptake, texture,
// fills and losses are factors on the plan's figures. What never reaches the floor,
// on tools, in buckets or spilled, has one factor for each gallon that does, and
// loose grain one for each pound that stays, so that neither a share of waste nor a
// retention can leave its range. Of a step that the job tells as done, with the kits
// or bags that it took, those stand, and hours that are over too. Batches are counted
// in each draw, and what stays in the bucket of each. Grain is used again as the recipe or the job says.
//
// What does in half, eight or nine of ten such jobs is the amount that as many of
// them need, bought as the plan buys its own: in bags, or in the kits that cover it
// at the lowest price, or without prices with the least left over. The chance that
// the plan runs short is of what its kits or bags hold in all; with one more or
// less it is of as much more or less as the smallest kit holds.
//
// The films of a job are not independent: one crew lays them all. Of the variance
// of each a share (shared, in the data) is one score that all films of the draw
// have in common, the rest their own; likewise for the waste. On the scores, which
// are normal, that is a correlation of shared between any two films. All else is
// independent.
//
// The draws are a Latin hypercube: of n draws each factor has exactly one in every
// n-th of its probability. A share found in them is never less sure than by n - 1
// plain draws (Owen 1997, from memory), and much surer where amounts add up.
package confidence

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distmv"
	"gonum.org/v1/gonum/stat/distuv"
	"gonum.org/v1/gonum/stat/samplemv"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// Options are what a caller may ask. The zero value draws 10 000 times with seed 0
// on one core, and orders for 90 %.
type Options struct {
	Draws   int               // 100 to 1 000 000; 0 is 10 000
	Seed    uint64            // the same seed draws the same, whatever the workers
	Level   units.Fraction    // chance wanted that a material does not run short, 50 % to 99.9 %; 0 is 90 %
	Workers int               // goroutines, 1 to 64; 0 is 1
	Past    []systems.PastUse // the contractor's own jobs, beside those of the job file
}

func (o *Options) fill() error {
	const fn = "confidence.Of"
	if o.Draws == 0 {
		o.Draws = 10000
	}
	if o.Level == 0 {
		o.Level = 0.9
	}
	if o.Workers == 0 {
		o.Workers = 1
	}
	return errors.Join(units.InRange(fn, "Draws", float64(o.Draws), 100, 1e6, "in number"), units.InRange(fn, "Level", float64(o.Level/units.Percent), 50, 99.9, "%"),
		units.InRange(fn, "Workers", float64(o.Workers), 1, 64, "in number"))
}

// An Order is a plan's order with its confidence.
type Order struct {
	Draws int            `json:"draws"`
	Seed  uint64         `json:"seed,string"`
	Level units.Fraction `json:"level"`
	Lines []Line         `json:"lines"` // as the plan's order
	Short units.Fraction `json:"short"` // chance that the plan's order runs short of something
	Asked units.Fraction `json:"asked"` // the same of the order for Level
	Error units.Fraction `json:"error"` // of these chances from the number of draws, at most: one standard deviation
	Used  []Used         `json:"used"`
	Notes []string       `json:"notes"`

	m     *model
	in    [][]uint8   // by factor and draw
	cut   int         // shares in in
	needs [][]float64 // by line and draw
	takes [][]float64 // likewise what must be bought at least: of kits mixed whole what the batches hold, else the need
	buys  []*purchases
	back  []float64 // vacuumed, kg
	work  []float64 // factor of hours
	burn  []float64 // factor of fuel
}

// A Line is one material of the order.
type Line struct {
	Material string         `json:"material"`
	Name     string         `json:"name"`
	Unit     string         `json:"unit"`    // "kit" or "bag"
	One      systems.Amount `json:"one"`     // what the smallest kit holds, or a bag
	Sizes    int            `json:"sizes"`   // of kits; 1 of bags
	Planned  int            `json:"planned"` // kits or bags of the plan, of all sizes
	Need50   systems.Amount `json:"need_p50"`
	Need80   systems.Amount `json:"need_p80"`
	Need90   systems.Amount `json:"need_p90"`
	P50      int            `json:"p50"` // kits or bags that do in half of such jobs
	P80      int            `json:"p80"`
	P90      int            `json:"p90"`
	ForLevel int            `json:"for_level"` // that do in Level of them
	Short    units.Fraction `json:"short"`     // chance that the planned ones run short
	OneLess  units.Fraction `json:"one_less"`  // with one fewer, of the smallest size
	OneMore  units.Fraction `json:"one_more"`  // with one more
	Drivers  []Driver       `json:"drivers"`   // of the need, the strongest first
	Told     units.Fraction `json:"told"`      // sum of all first-order shares; what lacks of 100 % several things do together

	// Of liquids, by size: those of the plan, and those that do at each level.
	Kits    []systems.KitLine `json:"kits,omitempty"`
	Kits50  []systems.KitLine `json:"kits_p50,omitempty"`
	Kits80  []systems.KitLine `json:"kits_p80,omitempty"`
	Kits90  []systems.KitLine `json:"kits_p90,omitempty"`
	KitsFor []systems.KitLine `json:"kits_for_level,omitempty"`

	buys *purchases
}

// RunsShort returns the chance that n bags, or n kits of the smallest size, run
// short; NaN of a line that [Of] did not make, which has no draws.
func (l *Line) RunsShort(n int) units.Fraction {
	if l.buys == nil {
		return units.Fraction(math.NaN())
	}
	return l.buys.short(float64(n) * l.buys.unit)
}

// ShortWith returns the chance that these kits of a liquid run short; NaN as
// RunsShort.
func (l *Line) ShortWith(kits []systems.KitLine) units.Fraction {
	if l.buys == nil {
		return units.Fraction(math.NaN())
	}
	return l.buys.short(held(kits))
}

// For returns the bags, or the kits in all and by size, that do with a chance of at
// least level, 0 to 100 %, as far as the draws tell.
func (l *Line) For(level units.Fraction) (n int, kits []systems.KitLine, err error) {
	if err := units.FromZero("confidence.Line.For", "level", float64(level/units.Percent), 100, "%"); err != nil {
		return 0, nil, err
	}
	if l.buys == nil {
		return 0, nil, errors.New("confidence.Line.For: the line has no draws: want one of an order made by Of")
	}
	return l.buys.at(level)
}

// A Driver is what a share of the scatter of an amount comes from: Sobol's
// first-order index, of the ranks of the draws, summed over the steps.
type Driver struct {
	What  string         `json:"what"` // "film", "waste", "patch depth" ...
	Share units.Fraction `json:"share"`
}

// Used is a scatter that the draws used.
type Used struct {
	systems.Scatter
	File systems.FileID `json:"file"`
	Jobs int            `json:"jobs"` // the contractor's own, weighed against it
}

// Of draws the amounts of a plan. The same plan, options and seed give the same
// bytes of JSON, whatever the number of workers. o must come from
// [systems.Plan] or [systems.Replay].
func Of(ctx context.Context, o *systems.Outcome, opt Options) (*Order, error) {
	if err := opt.fill(); err != nil {
		return nil, err
	}
	w, err := o.Working()
	if err != nil {
		return nil, err
	}
	m, err := build(o, w, &opt)
	if err != nil {
		return nil, fmt.Errorf("confidence.Of: %w", err)
	}
	n := opt.Draws
	out := &Order{Draws: n, Seed: opt.Seed, Level: opt.Level, Used: m.used, Notes: m.notes, Error: units.Fraction(0.5 / math.Sqrt(float64(n-1))), m: m, cut: sharesFor(n)}
	slices.SortFunc(out.Used, func(a, b Used) int { return strings.Compare(a.ID, b.ID) })
	if out.Notes == nil {
		out.Notes = []string{}
	}
	scores := make([][]float64, len(m.factors))
	out.in = make([][]uint8, len(m.factors))
	// Tables and columns need nothing of each other; the tables go first, for one may
	// take as long as several columns, and the other workers are not to wait for it.
	tables := len(m.tables)
	err = share(ctx, opt.Workers, tables+len(m.factors), func(k int) error {
		if k < tables {
			if err := m.tables[k].fill(); err != nil {
				return fmt.Errorf("confidence.Of: %w", err)
			}
			return nil
		}
		scores[k-tables], out.in[k-tables] = column(n, opt.Seed, uint64(k-tables), out.cut)
		return nil
	})
	if err != nil {
		return nil, err
	}
	if err := out.draw(ctx, opt.Workers, scores); err != nil {
		return nil, fmt.Errorf("confidence.Of: %w", m.far(err))
	}
	out.Lines = make([]Line, len(m.lines))
	out.buys = make([]*purchases, len(m.lines))
	err = share(ctx, opt.Workers, len(m.lines), func(k int) (err error) {
		out.Lines[k], err = out.line(k, w)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("confidence.Of: %w", m.far(err))
	}
	out.together()
	return out, nil
}

// column draws one factor: n scores, one in each n-th of its probability, and
// the share of cut that each lies in. Every column has a stream of its own, so
// that they may be drawn in any order.
func column(n int, seed, k uint64, cut int) ([]float64, []uint8) {
	batch := mat.NewDense(n, 1, nil)
	samplemv.LatinHypercube{Q: distmv.NewUnitUniform(1, nil), Src: rand.NewPCG(seed, k+1)}.Sample(batch)
	z, in := batch.RawMatrix().Data, make([]uint8, n)
	for i, u := range z {
		u = min(max(u, 1e-300), 1-1e-16) // only where it rounded to 0 or 1, whose scores are infinite
		in[i] = uint8(u * float64(cut))
		z[i] = distuv.UnitNormal.Quantile(u)
	}
	return z, in
}

// share has f do 0 to n-1, on as many goroutines as workers; the first error of
// the lowest number counts.
func share(ctx context.Context, workers, n int, f func(int) error) error {
	if workers = min(workers, n); workers < 2 {
		for i := range n {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := f(i); err != nil {
				return err
			}
		}
		return nil
	}
	errs := make([]error, n)
	var next sync.Mutex
	at := 0
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for {
				next.Lock()
				i := at
				at++
				next.Unlock()
				if i >= n || ctx.Err() != nil {
					return
				}
				errs[i] = f(i)
			}
		})
	}
	all.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// draw works all draws out, in blocks.
func (o *Order) draw(ctx context.Context, workers int, scores [][]float64) error {
	const block = 256
	n, m := o.Draws, o.m
	o.needs, o.takes, o.back = make([][]float64, len(m.lines)), make([][]float64, len(m.lines)), make([]float64, n)
	for k := range m.lines {
		o.needs[k] = make([]float64, n)
		if o.takes[k] = o.needs[k]; m.lines[k].whole {
			o.takes[k] = make([]float64, n)
		}
	}
	o.work, o.burn = make([]float64, n), make([]float64, n)
	return share(ctx, workers, (n+block-1)/block, func(b int) error {
		r := m.row()
		for i := b * block; i < min(n, (b+1)*block); i++ {
			for k := range m.terms {
				t, z := &m.terms[k], 0.0
				if t.own >= 0 {
					z = t.b * scores[t.own][i]
				}
				if t.joint >= 0 {
					z += t.a * scores[t.joint][i]
				}
				r.terms[k] = t.of.at(z)
			}
			if err := m.needs(r); err != nil {
				return err
			}
			for k := range m.lines {
				if o.needs[k][i] = r.need[k]; m.lines[k].whole {
					o.takes[k][i] = r.take[k]
				}
			}
			o.back[i], o.work[i], o.burn[i] = r.vacuumed, r.of(m.hours), r.of(m.fuel)
		}
		return nil
	})
}

// line sums one material up.
func (o *Order) line(k int, w *systems.Working) (Line, error) {
	x := &o.m.lines[k]
	l := Line{Material: x.Material, Name: x.Name, Unit: x.Unit, Sizes: x.sizes, Planned: x.Units, Kits: x.Kits}
	if l.One = (systems.Amount{Q: units.Mass(x.unit)}); x.UnitVolume > 0 {
		l.One.Q = units.Volume(x.unit)
	}
	idx := ordered(o.needs[k])
	sorted := make([]float64, len(idx))
	for i, j := range idx {
		sorted[i] = o.needs[k][j]
	}
	l.buys = &purchases{line: x, w: w, takes: sorted}
	if o.buys[k] = l.buys; x.whole {
		l.buys.takes = slices.Clone(o.takes[k])
		slices.Sort(l.buys.takes)
	}
	l.buys.unit = x.unit
	if most := l.buys.takes[len(idx)-1] / x.unit; !(most <= 1e6) {
		return l, fmt.Errorf("%s: a draw takes %.3g of the smallest %s: want at most a million", x.Material, most, x.Unit)
	}
	for _, p := range []struct {
		level units.Fraction
		need  *systems.Amount
		n     *int
		kits  *[]systems.KitLine
	}{{0.5, &l.Need50, &l.P50, &l.Kits50}, {0.8, &l.Need80, &l.P80, &l.Kits80}, {0.9, &l.Need90, &l.P90, &l.Kits90}, {o.Level, nil, &l.ForLevel, &l.KitsFor}} {
		var err error
		if *p.n, *p.kits, err = l.For(p.level); err != nil {
			return l, err
		}
		if p.need == nil {
			continue
		}
		need := stat.Quantile(float64(p.level), stat.Empirical, sorted, nil)
		if *p.need = (systems.Amount{Q: units.Mass(need)}); x.UnitVolume > 0 {
			*p.need = systems.Amount{Q: units.Volume(need)}
		}
	}
	l.Short, l.OneLess, l.OneMore = l.buys.short(x.bought), l.buys.short(x.bought-x.unit), l.buys.short(x.bought+x.unit)
	var of []int
	for c := range o.m.factors {
		if x.factors[c] {
			of = append(of, c)
		}
	}
	l.Drivers, l.Told = o.drivers(ranks(o.needs[k], idx), of)
	return l, nil
}

// together counts the draws in which anything runs short.
func (o *Order) together() {
	planned, asked := 0, 0
	level := make([]float64, len(o.Lines))
	for k := range o.Lines {
		if level[k] = held(o.Lines[k].KitsFor); o.m.lines[k].UnitVolume == 0 {
			level[k] = o.m.lines[k].unit * float64(o.Lines[k].ForLevel)
		}
	}
	for i := range o.Draws {
		p, a := false, false
		for k := range o.takes {
			t := o.takes[k][i] * (1 - billionth)
			p, a = p || t > o.m.lines[k].bought, a || t > level[k]
		}
		if p {
			planned++
		}
		if a {
			asked++
		}
	}
	o.Short, o.Asked = units.Fraction(planned)/units.Fraction(o.Draws), units.Fraction(asked)/units.Fraction(o.Draws)
}

// drivers sums the first-order shares of the factors by group. A factor below
// twice the noise of one that drives nothing, sqrt(2 cut)/n, and a group below half
// of one in a hundred, are in the sum told, not in the list. y are ranks.
func (o *Order) drivers(y []float64, of []int) ([]Driver, units.Fraction) {
	sum, told := map[string]units.Fraction{}, units.Fraction(0)
	noise := 2 * math.Sqrt(2*float64(o.cut)) / float64(o.Draws)
	for j, s := range firstOrder(y, o.in, o.cut, of) {
		told += units.Fraction(s)
		if s < noise {
			continue
		}
		sum[o.m.factors[of[j]].group] += units.Fraction(s)
	}
	all := []Driver{}
	for group, s := range sum {
		if s >= 0.005 {
			all = append(all, Driver{strings.ReplaceAll(group, "-", " "), s})
		}
	}
	slices.SortFunc(all, func(a, b Driver) int {
		if a.Share != b.Share {
			if a.Share > b.Share {
				return -1
			}
			return 1
		}
		return strings.Compare(a.What, b.What)
	})
	return all, told
}

// Drives says what drives an amount that was worked out from these draws, such as
// a price: y[i] of draw i. Told is the sum of the shares, as in [Line].
func (o *Order) Drives(y []float64) (all []Driver, told units.Fraction, err error) {
	if len(y) != o.Draws || o.m == nil {
		return nil, 0, fmt.Errorf("confidence.Order.Drives: found %d values for %d draws: want one for each, of an order made by Of", len(y), o.Draws)
	}
	of := make([]int, len(o.m.factors))
	for i := range of {
		of[i] = i
	}
	for i, v := range y {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, 0, fmt.Errorf("confidence.Order.Drives: found %g of draw %d: want finite values", v, i)
		}
	}
	all, told = o.drivers(ranks(y, ordered(y)), of)
	return all, told, nil
}

// A Draw is one draw as the work turned out: what each line of the order takes,
// in its order.
type Draw struct {
	Units    []int               // kits of all sizes, or bags
	Kits     [][]systems.KitLine // of liquids, by size, as the plan would buy them; not to be changed
	Needs    []float64           // m3 of liquids, kg of grain
	Vacuumed units.Mass          // grain that is not thrown again
	Hours    units.Fraction      // of the plan's hours that are not over
	Fuel     units.Fraction      // of the plan's fuel
}

// Draw returns draw i, from 0 to Draws - 1, in d, whose slices are used again.
func (o *Order) Draw(i int, d *Draw) error {
	if o.m == nil || i < 0 || i >= o.Draws {
		return fmt.Errorf("confidence.Order.Draw: found %d of %d draws: want one of an order made by Of", i, o.Draws)
	}
	d.Units, d.Kits, d.Needs = d.Units[:0], d.Kits[:0], d.Needs[:0]
	for k := range o.takes {
		n, kits, err := o.buys[k].each(o.takes[k][i])
		if err != nil {
			return fmt.Errorf("confidence.Order.Draw: %s: %w", o.Lines[k].Material, err)
		}
		d.Units, d.Kits, d.Needs = append(d.Units, n), append(d.Kits, kits), append(d.Needs, o.needs[k][i])
	}
	d.Vacuumed, d.Hours, d.Fuel = units.Mass(o.back[i]), units.Fraction(o.work[i]), units.Fraction(o.burn[i])
	return nil
}
