package draw

import (
	"image/color"
	"math"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// Colours that people with any kind of colour vision can tell apart.
//
// Source: M. Okabe and K. Ito, Color Universal Design (2008), the set of 8 (its
// yellow is too pale for lines).
var (
	black      = color.NRGBA{A: 255}
	orange     = color.NRGBA{R: 0xE6, G: 0x9F, A: 255}
	skyBlue    = color.NRGBA{R: 0x56, G: 0xB4, B: 0xE9, A: 255}
	green      = color.NRGBA{G: 0x9E, B: 0x73, A: 255}
	blue       = color.NRGBA{G: 0x72, B: 0xB2, A: 255}
	vermillion = color.NRGBA{R: 0xD5, G: 0x5E, A: 255}
	purple     = color.NRGBA{R: 0xCC, G: 0x79, B: 0xA7, A: 255}
	paper      = color.NRGBA{R: 255, G: 255, B: 255, A: 255}
	grey       = color.NRGBA{R: 0x60, G: 0x60, B: 0x60, A: 255}
	pale       = color.NRGBA{R: 0xD0, G: 0xD0, B: 0xD0, A: 255}
)

func tint(c color.NRGBA, share float64) color.NRGBA {
	c.A = uint8(math.Round(255 * share))
	return c
}

// A stroke is how a line is drawn: colours go with widths and dashes, so that
// they survive a black and white printer.
type stroke struct {
	color color.NRGBA
	width vg.Length
	dash  []vg.Length
}

type point struct{ t, v float64 } // hours, the strip's unit

// A series is a line of a strip.
type series struct {
	name   string
	points []point
	stroke stroke
	filled bool // down to 0
}

// A bound is a limit drawn across a strip; what is on its wrong side is filled.
type bound struct {
	name  string
	v     float64
	least bool // the values must not be below, else not above
	of    int  // which series
}

// An area is a band in the strip's unit; NaN: open.
type area struct {
	name           string
	from, to       float64 // hours
	low, high      float64
	color          color.NRGBA
	lowCut, topCut bool // the end of the band is beyond the scale
}

// A strip is a plot of one unit over the time of the sheet.
type strip struct {
	title  string
	panel  int
	series []series
	bounds []bound
	areas  []area
	ribbon []point // a polygon behind its lines
	dots   []point // moments on its lines
	tall   bool    // the main one
	bars   []Row   // steps, in rows of their own
	rows   bool    // its values are rows, without a scale
	along  bool    // its lines are named along themselves, not at their ends
	zero   bool    // the scale begins at 0
	room   float64 // the least span of the scale
	weight float64 // its share of the height
	sep    string  // of thousands
	scale  scale
	y0, y1 vg.Length
}

// strips returns what the sheet shows, from top to bottom.
func (n *NightSheet) strips() []*strip {
	si := n.System == units.SI
	pick := func(us, metric string) string {
		if si {
			return metric
		}
		return us
	}
	degrees := func(t units.Temperature) float64 {
		if si {
			return t.Celsius()
		}
		return t.Fahrenheit()
	}
	delta := func(d units.TempDelta) float64 {
		if si {
			return float64(d)
		}
		return float64(d / units.FahrenheitDelta)
	}
	states := n.Forecast.States
	every := (len(states)-2)/2000 + 1 // more points than that no print shows
	line := func(value func(s *climate.RoomState) float64) []point {
		var out []point
		for i := 0; i < len(states); i += every {
			if i+every >= len(states) {
				i = len(states) - 1
			}
			out = append(out, point{states[i].At.Hours(), value(&states[i])})
		}
		return out
	}
	var all []*strip
	add := func(s *strip) *strip {
		s.sep = pick(",", " ")
		all = append(all, s)
		return s
	}

	temps := add(&strip{title: "Temperature, " + pick("°F", "°C"), panel: 1, tall: true, room: delta(5), weight: 7, series: []series{
		{name: "slab surface", stroke: stroke{black, 2.2, nil}, points: line(func(s *climate.RoomState) float64 { return degrees(s.Surface) })},
		{name: "room air", stroke: stroke{vermillion, 1.1, nil}, points: line(func(s *climate.RoomState) float64 { return degrees(s.Air) })},
		{name: "dew point", stroke: stroke{blue, 1.3, []vg.Length{6, 2.5}}, points: line(func(s *climate.RoomState) float64 { return degrees(s.DewPoint) })},
	}})
	if len(n.Outdoors) > 0 {
		temps.series = append(temps.series, series{name: "outdoors", stroke: stroke{green, 1.3, []vg.Length{5, 2, 1.2, 2}}, points: n.outdoors(degrees)})
	}
	if l := n.Limits.Surface; !l.IsZero() {
		temps.bounds = append(temps.bounds, bound{"limit " + units.Format(l, n.System), degrees(l), true, 0})
	}
	tints := []color.NRGBA{skyBlue, orange, green, purple}
	for i, b := range n.Bands {
		from, to := n.span()
		temps.areas = append(temps.areas, band(b, from, to, degrees, n.System, tints[i%len(tints)]))
	}

	most := 0.0
	for i := range states {
		most = max(most, float64(states[i].Power))
	}
	unit, per := "kW", float64(units.Kilowatt)
	switch {
	case !si && most >= float64(20000*units.BtuPerHour):
		unit, per = "1000 Btu/h", float64(1000*units.BtuPerHour)
	case !si:
		unit, per = "Btu/h", float64(units.BtuPerHour)
	case most < 2000:
		unit, per = "W", 1
	}
	add(&strip{title: "Power taken in by the heaters, " + unit, panel: 2, zero: true, room: 1, weight: 1, series: []series{
		{name: "heaters", stroke: stroke{vermillion, 1.3, nil}, filled: true, points: line(func(s *climate.RoomState) float64 { return float64(s.Power) / per })}}})
	if tanks := n.tanks(); len(tanks) > 0 {
		mass := float64(units.Kilogram)
		if !si {
			mass = float64(units.Pound)
		}
		fuel := add(&strip{title: "Fuel left, " + pick("lb", "kg"), panel: 2, zero: true, room: 1, weight: 1})
		for k, i := range tanks {
			fuel.series = append(fuel.series, series{name: n.tank(i), stroke: tankLooks[k%len(tankLooks)], points: line(func(s *climate.RoomState) float64 { return max(0, float64(s.Fuel[i])/mass) })})
		}
	}

	rh := add(&strip{title: "Relative humidity in the room, %", panel: 3, room: 20, weight: 1, series: []series{
		{name: "humidity", stroke: stroke{blue, 1.3, []vg.Length{6, 2.5}}, points: line(func(s *climate.RoomState) float64 { return 100 * float64(s.RH) })}}})
	if l := n.Limits.RH; l > 0 {
		rh.bounds = append(rh.bounds, bound{"limit " + units.Format(l, n.System), 100 * float64(l), false, 0})
	}
	margin := add(&strip{title: "Margin of the slab above the dew point, " + pick("°F", "K"), panel: 3, room: delta(5), weight: 1.2, series: []series{
		{name: "margin", stroke: stroke{black, 1.6, nil}, points: line(func(s *climate.RoomState) float64 { return delta(s.Margin) })}}})
	if l := n.Limits.Margin; l > 0 {
		margin.bounds = append(margin.bounds, bound{"limit " + units.Format(l, n.System), delta(l), true, 0})
	} else {
		margin.bounds = append(margin.bounds, bound{"dew point", 0, true, 0})
	}
	gas := line(func(s *climate.RoomState) float64 { return 1e6 * float64(s.CO2) })
	peak := 0.0
	for i := range states {
		peak = max(peak, 1e6*float64(states[i].CO2))
	}
	if peak > 1000 {
		// The forecast knows nothing of carbon monoxide, and its reader must know that.
		co2 := add(&strip{title: "Carbon dioxide, ppm (carbon monoxide is not forecast)", panel: 3, zero: true, room: 1000, weight: 1,
			series: []series{{name: "CO2", stroke: stroke{purple, 1.7, nil}, points: gas}}})
		if l := n.Limits.CO2; l > 0 {
			co2.bounds = append(co2.bounds, bound{"limit " + scale{}.label(1e6*float64(l), co2.sep) + " ppm", 1e6 * float64(l), false, 0})
		}
	}
	for _, s := range all {
		s.spread()
	}
	return all
}

// tankLooks are the lines of fuel left.
var tankLooks = []stroke{{blue, 1.7, nil}, {black, 1.3, []vg.Length{6, 2.5}}, {green, 1.5, []vg.Length{5, 2, 1.2, 2}}, {purple, 1.7, []vg.Length{1.5, 2}}}

// band returns what a coat asks of the slab, within the sheet's time.
func band(b Band, from, to time.Duration, degrees func(units.Temperature) float64, system units.System, c color.NRGBA) area {
	a := area{from: max(b.From, from).Hours(), to: min(b.To, to).Hours(), low: math.NaN(), high: math.NaN(), color: c}
	if !b.Low.IsZero() {
		a.low = degrees(b.Low)
	}
	if !b.High.IsZero() {
		a.high = degrees(b.High)
	}
	switch {
	case b.High.IsZero():
		a.name = "at least " + units.Format(b.Low, system)
	case b.Low.IsZero():
		a.name = "at most " + units.Format(b.High, system)
	default:
		low, _, _ := strings.Cut(units.Format(b.Low, system), " ")
		a.name = low + " to " + units.Format(b.High, system)
	}
	if b.Name != "" {
		a.name = b.Name + ": " + a.name
	}
	return a
}

// outdoors returns the weather's temperatures over the time of the forecast.
func (n *NightSheet) outdoors(degrees func(units.Temperature) float64) []point {
	from, to := n.span()
	temps := n.Outdoors.Temps()
	at := func(t climate.Sample) point { return point{t.At.Hours(), degrees(t.Temp)} }
	first, _ := temps.At(from) // valid: checked
	last, _ := temps.At(to)
	out := []point{at(climate.Sample{At: from, Temp: first})}
	for _, t := range temps {
		if t.At > from && t.At < to {
			out = append(out, at(t))
		}
	}
	return append(out, at(climate.Sample{At: to, Temp: last}))
}

// spread chooses the values that the strip spans.
func (s *strip) spread() {
	lo, hi := math.Inf(1), math.Inf(-1)
	see := func(v float64) { lo, hi = min(lo, v), max(hi, v) }
	for _, l := range s.series {
		for _, p := range l.points {
			see(p.v)
		}
	}
	for _, p := range s.ribbon {
		see(p.v)
	}
	for _, b := range s.bounds {
		see(b.v)
	}
	if s.zero {
		see(0)
	}
	// The top of a band far above all lines must not squeeze them: it is cut then, and its text says how far it goes.
	for _, a := range s.areas {
		if !math.IsNaN(a.low) {
			see(a.low)
		}
	}
	span := max(hi-lo, s.room)
	for _, a := range s.areas {
		if math.IsNaN(a.low) || a.high <= hi+0.35*span {
			see(a.high)
		}
	}
	if d := s.room - (hi - lo); d > 0 {
		if !s.zero {
			lo -= d / 2
		} else {
			d *= 2
		}
		hi += d / 2
	}
	pad := 0.06 * (hi - lo)
	if !s.zero {
		lo -= pad
	}
	s.scale.lo, s.scale.hi = lo, hi+pad
	for i := range s.areas {
		a := &s.areas[i]
		if !(a.low >= s.scale.lo) {
			a.low, a.lowCut = s.scale.lo, true
		}
		if !(a.high <= s.scale.hi) {
			a.high, a.topCut = s.scale.hi, true
		}
	}
}

// wrong returns the polygons between the points and a value, where they are
// below it (least) or above it, from one time to another.
func wrong(points []point, from, to, v float64, least bool) [][]point {
	bad := func(p point) bool { return least && p.v < v || !least && p.v > v }
	var out [][]point
	var now []point
	end := func() {
		if len(now) > 1 {
			out = append(out, append(now, point{now[len(now)-1].t, v}, point{now[0].t, v}))
		}
		now = nil
	}
	cut := func(a, b point, t float64) point { return point{t, a.v + (b.v-a.v)*(t-a.t)/(b.t-a.t)} }
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		if b.t <= from || a.t >= to {
			continue
		}
		if a.t < from {
			a = cut(points[i-1], points[i], from)
		}
		if b.t > to {
			b = cut(points[i-1], points[i], to)
		}
		if bad(a) && len(now) == 0 {
			now = append(now, a)
		}
		if bad(a) != bad(b) {
			now = append(now, point{a.t + (b.t-a.t)*(v-a.v)/(b.v-a.v), v})
		}
		if bad(b) {
			now = append(now, b)
		} else {
			end()
		}
	}
	end()
	return out
}
