package draw

import (
	"cmp"
	"errors"
	"fmt"
	"image/color"
	"io"
	"slices"
	"time"

	"gonum.org/v1/plot/vg"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A JobSheet is the plan of a floor on one sheet, to be pinned to the wall: the
// temperatures with what the coats ask of them, the fuel, the steps with their
// windows, what to watch and what to buy, the days on one axis.
type JobSheet struct {
	Title, Place string       // one line each; long ones are broken
	Start        time.Time    // local time of the job's 0; required
	System       units.System // of the axes and of the clock
	From, To     time.Duration

	// Required; drawn to the last reading, not beyond. A trace with one reading, or
	// with none within the sheet, is drawn over all of it: held, as a plan holds it.
	Slab, Air, Dew climate.Trace
	Outdoors       climate.Weather // may be empty
	Margin         units.TempDelta // the slab is to stay this far above the dew point; 0: no line

	Bands []Band  // at most 12: what each coat asks of the slab until it is tack-free
	Tanks []Tank  // at most 4
	Rows  []Row   // 1 to 40, in the order of work
	Marks []Mark  // what to watch, at most 60: those that cannot stand go first
	Buy   []Order // at most 30
	Note  string  // what to watch that has no time of its own; at most 1500 characters, wrapped

	Width, Height units.Length // as of a NightSheet; of zero Height it is higher where it must be
	DPI           int          // as of a NightSheet
}

// A Tank is the fuel left in it.
type Tank struct {
	Name string
	Left []Fuel // 2 or more, in rising order of time
}

// Fuel is what is left at a time.
type Fuel struct {
	At   time.Duration
	Left units.Mass
}

// A Row is one step: when it is worked at, how long it lies wet, and the window
// in which the next coat may go on it.
type Row struct {
	Name string
	Work []Stretch // 1 or more; shown as full bars
	Wet  []Stretch // from the end of the work until it is tack-free
	Open []Stretch // from recoat-earliest to recoat-latest
}

// A Stretch is from a time to another, on the job's clock.
type Stretch struct{ From, To time.Duration }

// An Order is one thing to buy, in words: what the plan takes, and what would
// be enough in half, in eight and in nine of ten such jobs. The last three may be
// empty, in all orders alike.
type Order struct{ Name, Planned, P50, P80, P90 string }

const jobFn = "draw.Job"

// Job draws n as "svg" or "png": from top to bottom what to watch as flags with a
// key, temperatures, fuel, the steps in rows, and the order as a table. Bars
// are told apart by their shape: full is work, hatched lies wet, an open frame
// is a window, and its right end is when it closes. Where all that does not fit,
// the type of a sheet wider than 150 mm is made smaller, to three quarters, and
// then the sheet higher, if its Height is not given. See [Night] for the rest.
func Job(w io.Writer, format string, n JobSheet) error {
	if err := checkFormat(jobFn, format); err != nil {
		return err
	}
	p, err := n.ready(format)
	if err != nil {
		return err
	}
	return p.write(w, format, n.Width, n.DPI)
}

// ready sets the sides and returns the page.
func (n *JobSheet) ready(format string) (*page, error) {
	free := n.Height == 0
	n.Width, n.Height, n.DPI = sides(n.Width, n.Height, n.DPI, len(n.Marks))
	if err := n.check(format); err != nil {
		return nil, err
	}
	p := n.page()
	p.shrink = n.Width >= 150*units.Millimetre // a phone's type is as small as can be read
	p.grow = free
	return p, nil
}

func (n *JobSheet) check(format string) error {
	const fn = jobFn
	var errs []error
	see := func(err error) { errs = append(errs, err) }
	bad := func(format string, args ...any) { see(refused(fn, format, args...)) }
	most := func(field string, n, least, most int) {
		if n < least || n > most {
			bad("%s: %d: want %d to %d", field, n, least, most)
		}
	}
	see(checkSides(fn, format, n.Width, n.Height, n.DPI))
	see(checkPrint(fn, "Title", n.Title))
	see(checkPrint(fn, "Place", n.Place))
	if n.Start.IsZero() {
		bad("Start: want the local time of the job's 0")
	}
	if n.System != units.US && n.System != units.SI {
		bad("System = %d: want US or SI", int(n.System))
	}
	if d := n.To - n.From; d < 30*time.Minute || d > 45*24*time.Hour {
		bad("From = %v, To = %v: want 30 min to 45 days between them", n.From, n.To)
	}
	for _, t := range []struct {
		name string
		of   climate.Trace
	}{{"Slab", n.Slab}, {"Air", n.Air}, {"Dew", n.Dew}} {
		if err := t.of.Validate(); err != nil {
			see(fmt.Errorf("%s: %s: %w", fn, t.name, err))
		}
	}
	if len(n.Outdoors) > 0 {
		if err := n.Outdoors.Validate(); err != nil {
			see(fmt.Errorf("%s: Outdoors: %w", fn, err))
		}
	}
	see(units.FromZero(fn, "Margin", float64(n.Margin), 50, "K"))
	most("Bands", len(n.Bands), 0, maxBands)
	most("Tanks", len(n.Tanks), 0, 4)
	most("Rows", len(n.Rows), 1, 40)
	most("Marks", len(n.Marks), 0, maxMarks)
	most("Buy", len(n.Buy), 0, 30)
	for i, b := range n.Bands {
		at := fmt.Sprintf("Bands[%d]", i)
		see(checkPrint(fn, at+".Name", b.Name))
		if b.Low.IsZero() && b.High.IsZero() {
			bad("%s: neither Low nor High: want at least one", at)
		}
		if b.From >= b.To {
			bad("%s: From = %v, To = %v: want From before To", at, b.From, b.To)
		}
	}
	for i, t := range n.Tanks {
		at := fmt.Sprintf("Tanks[%d]", i)
		see(checkPrint(fn, at+".Name", t.Name))
		if len(t.Left) < 2 {
			bad("%s.Left: %d: want at least 2", at, len(t.Left))
		}
		for k, f := range t.Left {
			see(units.InRange(fn, fmt.Sprintf("%s.Left[%d]", at, k), float64(f.Left), -1e-3, 1e8, "kg"))
			if k > 0 && f.At < t.Left[k-1].At {
				bad("%s.Left[%d].At = %v: want it not before the one before", at, k, f.At)
				break
			}
		}
	}
	for i, r := range n.Rows {
		at := fmt.Sprintf("Rows[%d]", i)
		see(checkPrint(fn, at+".Name", r.Name))
		if len(r.Work) == 0 {
			bad("%s.Work: none: want at least one", at)
		}
		for _, all := range [][]Stretch{r.Work, r.Wet, r.Open} {
			for _, x := range all {
				if x.To < x.From {
					bad("%s: a stretch from %v to %v: want it to end after it begins", at, x.From, x.To)
				}
			}
		}
	}
	for i, m := range n.Marks {
		see(checkPrint(fn, fmt.Sprintf("Marks[%d].Text", i), m.Text))
	}
	for part := range slices.Chunk([]rune(n.Note), 200) {
		see(checkPrint(fn, "Note", string(part)))
	}
	if len(n.Note) > 1500 {
		bad("Note: %d bytes: want at most 1500", len(n.Note))
	}
	for i, b := range n.Buy {
		for _, t := range []string{b.Name, b.Planned, b.P50, b.P80, b.P90} {
			see(checkPrint(fn, fmt.Sprintf("Buy[%d]", i), t))
		}
	}
	return errors.Join(errs...)
}

func (n *JobSheet) page() *page {
	return &page{fn: jobFn, Title: n.Title, Place: n.Place, Start: n.Start, System: n.System, From: n.From, To: n.To, Height: n.Height,
		strips: n.strips(), moments: n.moments(), table: n.table(), note: n.Note, days: n.To-n.From > 30*time.Hour}
}

func (n *JobSheet) moments() []moment {
	var all []moment
	for _, m := range n.Marks {
		if m.At >= n.From && m.At <= n.To {
			all = append(all, moment{m.At, m.Text, !m.Faint})
		}
	}
	slices.SortStableFunc(all, func(a, b moment) int { return cmp.Compare(a.at, b.at) })
	return all
}

func (n *JobSheet) table() [][]string {
	if len(n.Buy) == 0 {
		return nil
	}
	with := slices.ContainsFunc(n.Buy, func(b Order) bool { return b.P50+b.P80+b.P90 != "" })
	head := []string{"To buy", "plan"}
	if with {
		head = append(head, "5 in 10", "8 in 10", "9 in 10")
	}
	out := [][]string{head}
	for _, b := range n.Buy {
		row := []string{b.Name, b.Planned}
		if with {
			row = append(row, b.P50, b.P80, b.P90)
		}
		out = append(out, row)
	}
	return out
}

func (n *JobSheet) strips() []*strip {
	unit, room, sep := "°F", 9.0, ","
	degrees := func(t units.Temperature) float64 { return t.Fahrenheit() }
	mass, massUnit := float64(units.Pound), "lb"
	if n.System == units.SI {
		unit, room, sep = "°C", 5, " "
		degrees = func(t units.Temperature) float64 { return t.Celsius() }
		mass, massUnit = float64(units.Kilogram), "kg"
	}
	temps := &strip{title: "Temperature, " + unit, panel: 1, tall: true, room: room, weight: 6, sep: sep}
	line := func(name string, k stroke, of climate.Trace, by units.TempDelta) {
		if pts := n.points(of, by, degrees); len(pts) > 1 {
			temps.series = append(temps.series, series{name: name, stroke: k, points: pts})
		}
	}
	line("slab surface", stroke{black, 2.2, nil}, n.Slab, 0)
	line("room air", stroke{vermillion, 1.1, nil}, n.Air, 0)
	line("dew point", stroke{blue, 1.3, []vg.Length{6, 2.5}}, n.Dew, 0)
	if n.Margin > 0 {
		line("slab's least", stroke{blue, 0.9, []vg.Length{1.2, 1.8}}, n.Dew, n.Margin)
	}
	if len(n.Outdoors) > 0 {
		line("outdoors", stroke{green, 1.3, []vg.Length{5, 2, 1.2, 2}}, n.Outdoors.Temps(), 0)
	}
	tints := []color.NRGBA{skyBlue, orange, green, purple}
	for i, b := range n.Bands {
		if b.To <= n.From || b.From >= n.To {
			continue
		}
		temps.areas = append(temps.areas, band(b, n.From, n.To, degrees, n.System, tints[i%len(tints)]))
	}
	temps.spread()
	all := []*strip{temps}
	if len(n.Tanks) > 0 {
		fuel := &strip{title: "Fuel left, " + massUnit, panel: 1, zero: true, room: 1, weight: 1, sep: sep}
		for i, t := range n.Tanks {
			var pts []point
			for _, f := range t.Left {
				if f.At >= n.From && f.At <= n.To {
					pts = append(pts, point{f.At.Hours(), max(0, float64(f.Left)/mass)})
				}
			}
			if len(pts) > 1 {
				fuel.series = append(fuel.series, series{name: t.Name, stroke: tankLooks[i%len(tankLooks)], points: pts})
			}
		}
		if len(fuel.series) > 0 {
			fuel.spread()
			all = append(all, fuel)
		}
	}
	return append(all, &strip{title: "Steps", panel: 2, rows: true, weight: 2, bars: n.Rows, scale: scale{lo: 0, hi: 1}})
}

// points returns a trace as far as it is given, within the sheet, or held over all of it.
func (n *JobSheet) points(of climate.Trace, by units.TempDelta, degrees func(units.Temperature) float64) []point {
	from, to := max(n.From, of[0].At), min(n.To, of[len(of)-1].At)
	if from >= to {
		from, to = n.From, n.To
	}
	at := func(t time.Duration) point {
		temp, _ := of.At(t) // valid: checked; held before and after what is given
		return point{t.Hours(), degrees(temp.Add(by))}
	}
	out := []point{at(from)}
	for _, s := range of {
		if s.At > from && s.At < to {
			out = append(out, at(s.At))
		}
	}
	return append(out, at(to))
}
