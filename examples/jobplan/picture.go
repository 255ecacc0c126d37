package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/draw"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

// pictureFormat returns what a picture's name ends in.
func pictureFormat(name string) (string, error) {
	format := strings.TrimPrefix(filepath.Ext(name), ".")
	if format != "svg" && format != "png" {
		return "", fmt.Errorf("picture = %q: want a name that ends in .svg or .png", name)
	}
	return format, nil
}

// drawPlan draws a plan as one sheet: with how sure its order is, or through what
// disturbs it, where these are not nil.
func drawPlan(w io.Writer, format string, j systems.Job, o *systems.Outcome, c *confidence.Order, d *systems.Difference, sys units.System, width units.Length) error {
	n := draw.JobSheet{Title: clip(o.Job + ": " + o.Title), Place: clip(o.Place), Start: o.Start, System: sys, Width: width, Buy: toBuy(o, c, sys, width < 180*units.Millimetre)}
	if err := n.Margin.UnmarshalText([]byte(j.Margin.Value)); err != nil {
		return err
	}
	weather(&n, j, o)
	n.To = n.Slab[len(n.Slab)-1].At
	for _, x := range o.Schedule {
		row(&n, j, x)
		n.To = max(n.To, x.End.Sub(o.Start)+time.Hour)
		for _, e := range x.Events {
			if e.Event == systems.TackFree && e.At != nil { // so that each coat is seen to dry
				n.To = max(n.To, e.At.Sub(o.Start)+time.Hour)
			}
		}
	}
	n.To = min(n.To, 45*24*time.Hour)
	if last := o.End.Add(36 * time.Hour).Sub(o.Start); n.To > last { // what comes after is cure only
		n.To = max(last, 30*time.Minute)
	}
	var untimed []string
	left := 0
	if d != nil {
		words := d.WordsBy(sys, clock(sys))
		what, flag := "; what if "+words+"?", "WHAT IF "+words
		if len([]rune(flag)) > 80 { // more than there is room for: it stands below
			n.Note = "What if " + cut(words, 900) + "? "
			what, flag = "; what if, see below", "WHAT IF begins, see below"
		}
		n.Place = clip(o.Place + what)
		if at := d.From.Sub(o.Start); at <= n.To {
			n.Marks = append(n.Marks, draw.Mark{At: at, Text: clip(flag)})
		}
	}
	if o.Now != nil && o.Now.Sub(o.Start) <= n.To {
		n.Marks = append(n.Marks, draw.Mark{At: o.Now.Sub(o.Start), Text: "NOW: what is before is done"})
	}
	for _, f := range o.Findings { // the gravest come first
		m := draw.Mark{Text: clip(words(f, o.Sections)), Faint: f.Severity != systems.Stop}
		if f.When != nil {
			m.At = f.When.Sub(o.Start)
		}
		switch {
		case f.When == nil || m.At < 0 || m.At > n.To:
			if !slices.Contains(untimed, m.Text) {
				untimed = append(untimed, m.Text)
			}
		case slices.ContainsFunc(n.Marks, func(o draw.Mark) bool { return o.At == m.At && o.Text == m.Text }):
		case len(n.Marks) == 60:
			left++
		default:
			n.Marks = append(n.Marks, m)
		}
	}
	if left > 0 {
		untimed = append(untimed, fmt.Sprintf("%d more findings in the text", left))
	}
	n.Note += fmt.Sprintf("Light foot traffic %s; full service %s.", ready(o.Foot, sys), ready(o.Service, sys))
	if o.End.After(o.Start.Add(n.To)) {
		until := o.End
		n.Note += " The work goes on beyond this sheet, until " + strings.TrimPrefix(ready(&until, sys), "from ") + "."
	}
	if len(untimed) > 0 {
		n.Note += " To watch besides: " + strings.Join(untimed, "; ") + "."
		if len(n.Note) > 1500 {
			n.Note = n.Note[:strings.LastIndex(n.Note[:1440], ";")] + "; and more in the text."
		}
	}
	return draw.Job(w, format, n)
}

// clip makes a text fit for one line of a sheet.
func clip(text string) string {
	return cut(strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text), 200)
}

// cut shortens a text to a number of characters.
func cut(text string, most int) string {
	if r := []rune(text); len(r) > most {
		return strings.TrimSpace(string(r[:most-1])) + "…"
	}
	return text
}

// ready says from when the floor is ready for something, by the sheet's clock.
func ready(at *time.Time, sys units.System) string {
	if at == nil {
		return "never at these temperatures"
	}
	return "from " + at.Format(clock(sys))
}

// clock is how a sheet writes a day and a time of it.
func clock(sys units.System) string {
	if sys == units.US {
		return "Mon, Jan 2, 3:04 pm"
	}
	return "Mon 2 Jan 15:04"
}

// weather sets the temperatures and the fuel: those of the heat plan, or what
// the job gives.
func weather(n *draw.JobSheet, j systems.Job, o *systems.Outcome) {
	if h := o.Heat; h != nil {
		for _, use := range h.Heaters {
			n.Tanks = append(n.Tanks, draw.Tank{Name: use.Name})
		}
		for _, x := range h.Hours {
			at := x.At.Sub(o.Start)
			n.Slab = append(n.Slab, climate.Sample{At: at, Temp: x.Slab})
			n.Air = append(n.Air, climate.Sample{At: at, Temp: x.Air})
			n.Dew = append(n.Dew, climate.Sample{At: at, Temp: x.DewPoint})
			for k := range x.Fuel {
				n.Tanks[k].Left = append(n.Tanks[k].Left, draw.Fuel{At: at, Left: x.Fuel[k]})
			}
		}
		n.Tanks = slices.DeleteFunc(n.Tanks, func(t draw.Tank) bool {
			return !slices.ContainsFunc(t.Left, func(f draw.Fuel) bool { return f.Left > 0 })
		})
		n.Outdoors = j.Site.Outdoors
		return
	}
	n.Slab, n.Air = j.Weather.SlabTrace(), trace(j.Weather.Air)
	var at []time.Duration
	for _, s := range []systems.Series{j.Weather.Air, j.Weather.RH} {
		for _, r := range s {
			at = append(at, r.At)
		}
	}
	slices.Sort(at)
	for _, t := range slices.Compact(at) {
		dew, err := climate.DewPoint(units.Kelvin(j.Weather.Air.At(t)), units.Fraction(j.Weather.RH.At(t)))
		if err == nil {
			n.Dew = append(n.Dew, climate.Sample{At: t, Temp: dew})
		}
	}
}

func trace(s systems.Series) (t climate.Trace) {
	for _, r := range s {
		t = append(t, climate.Sample{At: r.At, Temp: units.Kelvin(r.V)})
	}
	return t
}

// row adds a step on a section; the sections of a step share a row.
func row(n *draw.JobSheet, j systems.Job, x systems.Work) {
	i := slices.IndexFunc(n.Rows, func(r draw.Row) bool { return r.Name == x.Title })
	if i < 0 {
		if len(n.Rows) == 40 {
			return
		}
		n.Rows = append(n.Rows, draw.Row{Name: x.Title})
		i = len(n.Rows) - 1
	}
	r := &n.Rows[i]
	begin, end := x.Start.Sub(j.Start), x.End.Sub(j.Start)
	r.Work = append(r.Work, draw.Stretch{From: begin, To: end})
	at := map[string]time.Duration{}
	for _, e := range x.Events {
		if at[e.Event] = math.MaxInt64; e.At != nil {
			at[e.Event] = e.At.Sub(j.Start)
		}
	}
	if len(x.Events) == 0 {
		return
	}
	tack, ok := at[systems.TackFree]
	if ok && tack > end {
		r.Wet = append(r.Wet, draw.Stretch{From: end, To: tack})
	}
	early, ok1 := at[systems.RecoatEarliest]
	late, ok2 := at[systems.RecoatLatest]
	if ok1 && ok2 && early < late {
		r.Open = append(r.Open, draw.Stretch{From: early, To: late})
	}
	m, known := j.MaterialOf(x.Step)
	if x.Does != systems.Coat || !known || len(n.Bands) == 12 || x.Section > 1 {
		return
	}
	band := draw.Band{Name: x.Step, From: begin, To: min(max(end, tack), end+14*24*time.Hour)}
	if m.Surface.LowText != "" {
		band.Low = m.Surface.Low
	}
	if m.Surface.HighText != "" {
		band.High = m.Surface.High
	}
	if !band.Low.IsZero() || !band.High.IsZero() {
		n.Bands = append(n.Bands, band)
	}
}

// words says a finding in a few words: its key is plain words.
func words(f systems.Finding, sections int) string {
	text := strings.ReplaceAll(f.Key, "-", " ")
	switch {
	case f.Step != "" && f.Section > 0 && sections > 1:
		text = fmt.Sprintf("%s [%d]: %s", f.Step, f.Section, text)
	case f.Step != "":
		text = f.Step + ": " + text
	}
	if f.Severity == systems.Stop {
		return "STOP " + text
	}
	return text
}

// toBuy is the order as the plan has it, and how sure it is. On a narrow sheet what
// would do of several sizes is what they hold in all, or the names find no place.
func toBuy(o *systems.Outcome, c *confidence.Order, sys units.System, narrow bool) (out []draw.Order) {
	for i, l := range o.Order {
		x := draw.Order{Name: l.Name, Planned: fmt.Sprintf("%d %s", l.Units, plural(l.Unit, l.Units))}
		if c != nil && i < len(c.Lines) {
			at := &c.Lines[i]
			x.P50, x.P80, x.P90 = at.Bought(at.P50, at.Kits50, sys), at.Bought(at.P80, at.Kits80, sys), at.Bought(at.P90, at.Kits90, sys)
			if at.Sizes > 1 && at.Planned > 0 {
				x.Planned = at.Bought(at.Planned, at.Kits, sys)
			}
			if at.Sizes > 1 && narrow {
				x.P50, x.P80, x.P90 = inAll(at.Kits50, sys), inAll(at.Kits80, sys), inAll(at.Kits90, sys)
			}
		}
		out = append(out, x)
	}
	return out[:min(len(out), 30)]
}

// inAll is what kits hold.
func inAll(kits []systems.KitLine, sys units.System) string {
	var all units.Volume
	for _, k := range kits {
		all += k.Volume * units.Volume(k.N)
	}
	return units.Format(all, sys)
}

func plural(unit string, n int) string {
	if n == 1 {
		return unit
	}
	return unit + "s"
}
