package draw

import (
	"cmp"
	"errors"
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A ProgressSheet is what one sheet shows of a coat that cures along a history.
type ProgressSheet struct {
	Title, Place string       // one line each; long ones are broken
	Start        time.Time    // local time at the history's 0; required
	System       units.System // of the axes and of the clock

	History  climate.Trace   // past its end the last temperature is held, and drawn as such
	Within   units.TempDelta // standard deviation of the history, 0 to 20 K; its 95 % is drawn
	Begun    time.Duration   // when the coat went down
	From, To time.Duration   // the hours shown, 30 min to 7 days

	Events  []EventCourse // 1 to 8, with a name each
	Windows []Window      // at most 4

	Width, Height units.Length // as of a NightSheet
	DPI           int          // as of a NightSheet
}

// An EventCourse is the progress of one event.
type EventCourse struct {
	Name  string
	Curve []Done // 2 points or more, in rising order of time; past 100 % it is cut

	Reached bool
	At      time.Duration // when, if it is reached

	// The 95 % interval of At; both zero: not known. Hi may be beyond To.
	Lo, Hi time.Duration
}

// Done is how much of an event's way is gone at a time.
type Done struct {
	At    time.Duration
	Share units.Fraction
}

// A Window is open between two times.
type Window struct {
	Name     string
	From, To time.Duration
}

const progressFn = "draw.Progress"

// Progress draws n as "svg" or "png": the temperature, the progress of each event
// with the windows as bands, and in rows when each comes with its 95 % interval,
// and the windows again, all on one axis of time. See [Night] for the rest.
func Progress(w io.Writer, format string, n ProgressSheet) error {
	if err := checkFormat(progressFn, format); err != nil {
		return err
	}
	n.Width, n.Height, n.DPI = sides(n.Width, n.Height, n.DPI, len(n.Events)+2)
	if err := n.check(format); err != nil {
		return err
	}
	return n.page().write(w, format, n.Width, n.DPI)
}

func (n *ProgressSheet) check(format string) error {
	const fn = progressFn
	var errs []error
	see := func(err error) { errs = append(errs, err) }
	bad := func(format string, args ...any) { see(refused(fn, format, args...)) }
	see(checkSides(fn, format, n.Width, n.Height, n.DPI))
	see(checkPrint(fn, "Title", n.Title))
	see(checkPrint(fn, "Place", n.Place))
	if n.Start.IsZero() {
		bad("Start: want the local time at the history's 0")
	}
	if n.System != units.US && n.System != units.SI {
		bad("System = %d: want US or SI", int(n.System))
	}
	if err := n.History.Validate(); err != nil {
		see(fmt.Errorf("%s: History: %w", fn, err))
	}
	see(units.FromZero(fn, "Within", float64(n.Within), 20, "K"))
	if d := n.To - n.From; d < 30*time.Minute || d > 7*24*time.Hour {
		bad("From = %v, To = %v: want 30 min to 7 days between them", n.From, n.To)
	}
	if len(n.Events) < 1 || len(n.Events) > 8 {
		bad("Events: %d: want 1 to 8", len(n.Events))
	}
	if len(n.Windows) > 4 {
		bad("Windows: %d: want at most 4", len(n.Windows))
	}
	for i, e := range n.Events {
		at := fmt.Sprintf("Events[%d]", i)
		see(checkPrint(fn, at+".Name", e.Name))
		if e.Name == "" {
			bad("%s.Name: none: want one", at)
		}
		if len(e.Curve) < 2 {
			bad("%s.Curve: %d points: want at least 2", at, len(e.Curve))
		}
		for k, d := range e.Curve {
			if k > 0 && d.At <= e.Curve[k-1].At {
				bad("%s.Curve[%d].At = %v: want it after the one before", at, k, d.At)
				break
			}
			if !(d.Share >= 0) || math.IsInf(float64(d.Share), 1) {
				bad("%s.Curve[%d].Share = %g: want 0 or more", at, k, float64(d.Share))
				break
			}
		}
		if (e.Lo != 0 || e.Hi != 0) && !(e.Reached && e.Lo <= e.At && e.At <= e.Hi) {
			bad("%s: Lo = %v, At = %v, Hi = %v: want them in that order, of an event that is reached", at, e.Lo, e.At, e.Hi)
		}
	}
	for i, w := range n.Windows {
		at := fmt.Sprintf("Windows[%d]", i)
		see(checkPrint(fn, at+".Name", w.Name))
		if w.From >= w.To {
			bad("%s: From = %v, To = %v: want From before To", at, w.From, w.To)
		}
	}
	return errors.Join(errs...)
}

// looks of the events' lines: no two share both dash and width, so that they
// are told apart without colour.
var looks = []stroke{
	{black, 2, nil},
	{vermillion, 1.4, []vg.Length{6, 2.5}},
	{blue, 2, []vg.Length{1.5, 2}},
	{green, 1.4, []vg.Length{8, 2, 1.2, 2}},
	{purple, 2.2, []vg.Length{10, 3}},
	{grey, 1, nil},
	{orange, 2.2, []vg.Length{4, 2, 1.2, 2, 1.2, 2}},
	{skyBlue, 2.6, []vg.Length{3, 3}},
}

func (n *ProgressSheet) page() *page {
	return &page{fn: progressFn, Title: n.Title, Place: n.Place, Start: n.Start, System: n.System, From: n.From, To: n.To, Height: n.Height, strips: n.strips(), moments: n.moments()}
}

func (n *ProgressSheet) moments() []moment {
	var all []moment
	add := func(at time.Duration, text string, mark bool) {
		at = n.Start.Add(at).Round(time.Minute).Sub(n.Start) // as its text will say
		if at >= n.From && at <= n.To {
			all = append(all, moment{at, text, mark})
		}
	}
	add(n.Begun, "coat down", true)
	if last := n.History[len(n.History)-1].At; last < n.To {
		add(last, "history ends", false)
	}
	for _, e := range n.Events {
		if e.Reached {
			add(e.At, e.Name, true)
		}
	}
	slices.SortStableFunc(all, func(a, b moment) int { return cmp.Compare(a.at, b.at) })
	return all
}

func (n *ProgressSheet) strips() []*strip {
	unit, delta, sep := "°F", 9.0, ","
	degrees := func(t units.Temperature) float64 { return t.Fahrenheit() }
	if n.System == units.SI {
		unit, delta, sep = "°C", 5, " "
		degrees = func(t units.Temperature) float64 { return t.Celsius() }
	}
	temps := &strip{title: "Temperature, " + unit, panel: 1, room: delta, weight: 3, sep: sep}
	given, held := n.history(degrees)
	if len(given) > 0 {
		temps.series = append(temps.series, series{name: "as given", points: given, stroke: stroke{black, 1.8, nil}})
	}
	if len(held) > 0 {
		temps.series = append(temps.series, series{name: "held", points: held, stroke: stroke{black, 1, []vg.Length{3, 2.5}}})
	}
	if n.Within > 0 {
		temps.title += ", and 95 % of the forecast"
		d := degrees(units.Celsius(1.96*float64(n.Within))) - degrees(units.Celsius(0))
		all := append(slices.Clone(given), held...)
		for _, p := range all {
			temps.ribbon = append(temps.ribbon, point{p.t, p.v + d})
		}
		for _, p := range slices.Backward(all) {
			temps.ribbon = append(temps.ribbon, point{p.t, p.v - d})
		}
	}
	temps.spread()

	gone := &strip{title: "Progress, %", panel: 2, tall: true, along: true, weight: 7, sep: sep, scale: scale{lo: 0, hi: 104}}
	when := &strip{title: "When reached, with 95 % interval; windows", panel: 3, rows: true, weight: 1.5, sep: sep, scale: scale{hi: 0.7}}
	for i, e := range n.Events {
		gone.series = append(gone.series, series{name: e.Name, points: n.curve(e), stroke: looks[i]})
		row := series{name: e.Name, stroke: looks[i]}
		v, from, to := -float64(i), n.From.Hours(), n.To.Hours()
		lo, hi := e.Lo.Hours(), e.Hi.Hours()
		if e.Lo == 0 && e.Hi == 0 {
			lo, hi = e.At.Hours(), e.At.Hours()
		}
		if !e.Reached || lo > to || hi < from {
			lo, hi = to, to // its name only
		}
		row.points = []point{{max(lo, from), v}, {min(hi, to), v}}
		if e.Reached && e.At >= n.From && e.At <= n.To {
			when.dots = append(when.dots, point{e.At.Hours(), v})
			gone.dots = append(gone.dots, point{e.At.Hours(), 100})
		}
		when.series = append(when.series, row)
	}
	tints := []color.NRGBA{orange, skyBlue, green, purple}
	for i, w := range n.Windows {
		if w.To <= n.From || w.From >= n.To {
			continue
		}
		v := -float64(len(when.series))
		when.series = append(when.series, series{name: w.Name, stroke: stroke{tints[i], bar, nil}, points: []point{{max(w.From, n.From).Hours(), v}, {min(w.To, n.To).Hours(), v}}})
		a := area{name: w.Name, from: max(w.From, n.From).Hours(), to: min(w.To, n.To).Hours(), color: tints[i], lowCut: true, topCut: true}
		a.low, a.high = gone.scale.lo, gone.scale.hi
		gone.areas = append(gone.areas, a)
	}
	when.scale.lo = 0.3 - float64(len(when.series))
	return []*strip{temps, gone, when}
}

// history returns the temperatures shown, as given and held past the end.
func (n *ProgressSheet) history(degrees func(units.Temperature) float64) (given, held []point) {
	at := func(t time.Duration) point {
		temp, _ := n.History.At(t) // valid: checked
		return point{t.Hours(), degrees(temp)}
	}
	last := n.History[len(n.History)-1].At
	if last > n.From {
		given = append(given, at(n.From))
		for _, s := range n.History {
			if s.At > n.From && s.At < n.To {
				given = append(given, at(s.At))
			}
		}
		if last >= n.To {
			given = append(given, at(n.To))
		}
	}
	if last < n.To {
		held = []point{at(max(last, n.From)), at(n.To)}
	}
	return given, held
}

// curve returns the part of an event's progress that is shown, up to 100 %.
func (n *ProgressSheet) curve(e EventCourse) []point {
	var out []point
	cut := func(a, b point, t float64) point { return point{t, a.v + (b.v-a.v)*(t-a.t)/(b.t-a.t)} }
	from, to := n.From.Hours(), n.To.Hours()
	for k := 1; k < len(e.Curve); k++ {
		a, b := point{e.Curve[k-1].At.Hours(), 100 * float64(e.Curve[k-1].Share)}, point{e.Curve[k].At.Hours(), 100 * float64(e.Curve[k].Share)}
		if b.t <= from || a.t >= to || a.v >= 100 {
			continue
		}
		p, q := a, b
		if p.t < from {
			p = cut(a, b, from)
		}
		if q.t > to {
			q = cut(a, b, to)
		}
		if q.v > 100 {
			q = point{p.t + (q.t-p.t)*(100-p.v)/(q.v-p.v), 100}
		}
		if len(out) == 0 {
			out = append(out, p)
		}
		out = append(out, q)
	}
	if len(out) == 0 { // all of it is past, or yet to come
		out = []point{{to, 0}, {to, 0}}
		if e.Curve[len(e.Curve)-1].At <= n.From || e.Reached && e.At <= n.From {
			out = []point{{from, 100}, {from, 100}}
		}
	}
	return out
}

// dot marks a point of a line.
func (s *sheet) dot(x, y vg.Length) {
	d := 0.34 * s.size
	diamond := func(d vg.Length) []vg.Point {
		return []vg.Point{{X: x - d, Y: y}, {X: x, Y: y - d}, {X: x + d, Y: y}, {X: x, Y: y + d}}
	}
	s.c.FillPolygon(paper, diamond(1.3*d))
	s.c.FillPolygon(black, diamond(d))
}

// bar is the width of a window's row, by which windows that overlap are told apart
// without colour.
const bar = 5

// whisker draws an interval in a row: full, for a short one would lose its dashes,
// and without a cap where it goes on beyond the sheet.
func (s *sheet) whisker(k stroke, a, b vg.Point) {
	if a.X == b.X {
		return
	}
	if k.width == bar {
		s.line(k, a, b)
		return
	}
	k.width, k.dash = 1.6, nil
	s.line(k, a, b)
	for _, p := range []vg.Point{a, b} {
		if p.X > s.x0+0.01 && p.X < s.x1-0.01 {
			s.line(k, vg.Point{X: p.X, Y: p.Y - 0.35*s.size}, vg.Point{X: p.X, Y: p.Y + 0.35*s.size})
		}
	}
}

// crossed reports whether a line goes through a box.
func (s *sheet) crossed(p *strip, l series, b box) bool {
	for k := 1; k < len(l.points); k++ {
		q, r := l.points[k-1], l.points[k]
		x0, y0, x1, y1 := s.x(q.t), p.y(q.v), s.x(r.t), p.y(r.v)
		if x1 < b.x0 || x0 > b.x1 || x1 == x0 {
			continue
		}
		at := func(x vg.Length) vg.Length { return y0 + (y1-y0)*(x-x0)/(x1-x0) }
		if u, v := at(max(x0, b.x0)), at(min(x1, b.x1)); min(u, v) < b.y1 && max(u, v) > b.y0 {
			return true
		}
	}
	return false
}

// along writes the names of a strip's lines beside them, where they hide the
// least, in two lines where one finds no room. A name that finds none at all is
// left out: the rows below and the flag at the line's end name it too.
func (s *sheet) along(p *strip) {
	for i := range p.series {
		if text := s.shorten(s.alongFace(), p.series[i].name, 0.4*(s.x1-s.x0)); !s.beside(p, i, []string{text}) {
			s.beside(p, i, s.halves(p.series[i].name))
		}
	}
}

func (s *sheet) alongFace() face { return face{size: 0.95 * s.size} }

// halves breaks a text into two lines where the longer one is shortest.
func (s *sheet) halves(text string) []string {
	words := strings.Fields(text)
	best := []string{text}
	width := func(lines []string) vg.Length {
		w := vg.Length(0)
		for _, l := range lines {
			w = max(w, s.width(s.alongFace(), l))
		}
		return w
	}
	for k := 1; k < len(words); k++ {
		if two := []string{strings.Join(words[:k], " "), strings.Join(words[k:], " ")}; width(two) < width(best) {
			best = two
		}
	}
	return best
}

// beside writes lines beside line i of a strip, and reports whether they find room.
func (s *sheet) beside(p *strip, i int, lines []string) bool {
	f, l := s.alongFace(), p.series[i]
	gap, step := 0.45*s.size, 1.1*s.size
	w := vg.Length(0)
	for _, text := range lines {
		w = max(w, s.width(f, text))
	}
	high := vg.Length(len(lines)-1) * step
	bare := *p // what is not a line; those must not be crossed at all
	bare.series = nil
	first, top := l.points[0].v, l.points[len(l.points)-1].v
	best, least, left := vg.Point{}, math.Inf(1), false
	for k := range 37 {
		v := first + (top-first)*(0.95-0.9*float64(k)/36)
		j := max(1, slices.IndexFunc(l.points, func(q point) bool { return q.v >= v }))
		a, b := l.points[j-1], l.points[j]
		t := b.t
		if b.v > a.v {
			t = a.t + (b.t-a.t)*(v-a.v)/(b.v-a.v)
		}
		x, y := s.x(t), p.y(v)
		for side, q := range []vg.Point{{X: x + gap, Y: y - 0.9*s.size - high}, {X: x - gap - w, Y: y + 0.25*s.size}, {X: x + gap, Y: y - 0.35*s.size - high/2}, {X: x - gap - w, Y: y - 0.25*s.size - high/2}} {
			b := s.box(f, q.X, q.Y, "")
			b.x1, b.y1 = b.x0+w, b.y1+high
			if b.x0 < s.x0+1 || b.x1 > s.x1-1 || b.y0 < p.y0+1 || b.y1 > p.y1 {
				continue
			}
			wide := b // another line must not be as near as its own
			if side%2 == 0 {
				wide.x1 += 0.6 * s.size
			} else {
				wide.x0 -= 0.6 * s.size
			}
			taken := false
			for m, o := range p.series {
				taken = taken || m != i && s.crossed(p, o, wide) || m == i && s.crossed(p, o, b)
			}
			if cost := s.cost(&bare, b, least) + 0.05*math.Abs(float64(k)-12) + 0.3*float64(side); !taken && cost < least {
				best, least, left = q, cost, side%2 == 1
			}
		}
	}
	if least > 100 { // on another text, or nowhere
		return false
	}
	for k, text := range lines {
		x := best.X
		if left {
			x += w - s.width(f, text)
		}
		s.write(f, black, x, best.Y+high-vg.Length(k)*step, text, true)
	}
	return true
}
