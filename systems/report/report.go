// Package report lays an outcome out as plain text for a person standing on
// the slab: what to watch, what to buy, what to do when.
package report

import (
	"bufio"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

const width = 98

// Write writes o to w, with its quantities in sys and its times in the job's
// own offset. The error is w's.
func Write(w io.Writer, o *systems.Outcome, sys units.System) error {
	b := bufio.NewWriter(w)
	p := page{b, o, sys}
	for _, part := range []func(){p.head, p.findings, p.order, p.schedule, p.heat, p.heatLoss, p.takeOff, p.build, p.alternatives, p.cautions, p.files} {
		part()
	}
	return b.Flush()
}

type page struct {
	w   *bufio.Writer
	o   *systems.Outcome
	sys units.System
}

func (p page) f(format string, args ...any) { fmt.Fprintf(p.w, format, args...) }

func (p page) q(q units.Quantity) string { return units.Format(q, p.sys) }

var inWords = regexp.MustCompile(`[0-9]+(\.[0-9]+)? (°F|ft2|ft|mil)\b`)

// own puts the quantities in a text of the data, which has US units, into the
// report's: "wet film by comb every 100 ft2" is every 9.29 m2.
func (p page) own(text string) string {
	if p.sys == units.US {
		return text
	}
	return inWords.ReplaceAllStringFunc(text, func(s string) string {
		var t units.Temperature
		var a units.Area
		var l units.Length
		switch {
		case t.UnmarshalText([]byte(s)) == nil:
			return p.q(t)
		case a.UnmarshalText([]byte(s)) == nil:
			return p.q(a)
		case l.UnmarshalText([]byte(s)) == nil:
			return p.q(l)
		}
		return s
	})
}

func (p page) title(s string) { p.f("\n%s\n%s\n", s, strings.Repeat("-", len([]rune(s)))) }

// wrap writes s after a first-line prefix, wrapped, with later lines indented.
func (p page) wrap(first, s string) {
	indent := strings.Repeat(" ", len([]rune(first)))
	line := first
	for i, word := range strings.Fields(s) {
		if i > 0 && len([]rune(line))+1+len([]rune(word)) > width {
			p.f("%s\n", line)
			line = indent + word
			continue
		}
		if i > 0 {
			line += " "
		}
		line += word
	}
	p.f("%s\n", strings.TrimRight(line, " "))
}

func (p page) when(t time.Time) string {
	return t.In(systems.OffsetOf(p.o.Start)).Format("Mon 2 Jan 15:04")
}

func (p page) head() {
	job := p.o.Job
	if p.o.Place != "" {
		job += ", " + p.o.Place
	}
	p.wrap("", job)
	p.wrap("", fmt.Sprintf("%s (%s)", p.o.Title, p.o.Recipe))
	floor := "Floor " + p.q(p.o.Floor)
	if p.o.Base > 0 {
		floor += ", cove base " + p.q(p.o.Base)
	}
	if p.o.Thickness > 0 {
		floor += ", build " + p.q(p.o.Thickness)
	}
	p.wrap("", floor+".")
	p.f("Start %s, last work %s; all times at UTC%s, also where clocks change.\n", p.when(p.o.Start), p.when(p.o.End), p.o.Start.Format("-07:00"))
	if p.o.Now != nil {
		p.f("Now %s: what is before it stands as it was done.\n", p.when(*p.o.Now))
	}
	for _, e := range []struct {
		name string
		t    *time.Time
		held bool
	}{{"Light foot traffic", p.o.Foot, p.o.FootHeld}, {"Full service", p.o.Service, p.o.ServiceHeld}} {
		if e.t == nil {
			p.f("%s: not reached along these temperatures, or not known.\n", e.name)
		} else if e.held {
			p.f("%s from %s, if the last slab temperature given holds until then.\n", e.name, p.when(*e.t))
		} else {
			p.f("%s from %s.\n", e.name, p.when(*e.t))
		}
	}
}

func (p page) findings() {
	p.title("WHAT TO WATCH")
	if len(p.o.Findings) == 0 {
		p.f("Nothing found against the limits.\n")
	}
	type like struct { // findings that differ by their section alone
		severity        systems.Severity
		key, step, said string
	}
	alike := func(f systems.Finding) like { return like{f.Severity, f.Key, f.Step, f.Sentence(p.sys)} }
	places := map[like][]string{}
	for _, f := range p.o.Findings {
		if f.Section > 0 {
			places[alike(f)] = append(places[alike(f)], p.finds(f, ""))
		}
	}
	for _, f := range p.o.Findings {
		said, where := f.Sentence(p.sys), f.Step
		each := places[alike(f)]
		if f.Section > 0 {
			if delete(places, alike(f)); len(each) == 0 {
				continue // told with the first
			}
		}
		if f.Section == 0 || len(each) == 1 {
			each, where = nil, p.finds(f, f.Step)
		}
		if where != "" {
			where += ": "
		}
		if len(each) > 1 {
			said += " In " + strings.Join(each, "; ") + "."
		}
		if f.Do != "" {
			said += " " + f.Do
		}
		p.wrap(fmt.Sprintf("%-6s", strings.ToUpper(string(f.Severity))), where+said)
	}
}

// finds says where and when a finding is, with its step or "".
func (p page) finds(f systems.Finding, step string) string {
	where := step
	switch several := f.Section > 0 && p.o.Sections > 1; {
	case several && step == "":
		where = fmt.Sprintf("section %d", f.Section)
	case several:
		where += fmt.Sprintf(" (section %d)", f.Section)
	}
	if f.When == nil {
		return where
	}
	where = strings.TrimSpace(where + " " + p.when(*f.When))
	if f.Until != nil && f.Until.After(*f.When) {
		where += " to " + p.when(*f.Until)
		if f.Worst != nil {
			where += ", worst " + p.when(*f.Worst)
		}
	}
	return where
}

func (p page) order() {
	p.title("WHAT TO BUY")
	for _, l := range p.o.Order {
		need, unit, left := p.q(l.Mass), p.q(l.UnitMass), p.q(l.LeftMass)
		if l.UnitVolume > 0 {
			need, unit, left = p.q(l.Volume), p.q(l.UnitVolume), p.q(l.LeftVolume)
		}
		plural := "s"
		if l.Units == 1 {
			plural = ""
		}
		if len(l.Kits) > 1 {
			var kits []string
			for _, k := range l.Kits {
				kits = append(kits, fmt.Sprintf("%d of %s", k.N, p.q(k.Volume)))
			}
			unit = strings.Join(kits, ", ")
			plural += ","
		} else {
			plural += " of"
		}
		price := ""
		if l.Price > 0 {
			price = strings.TrimRight(fmt.Sprintf("; price %.2f %s", l.Price, l.Currency), " ")
		}
		p.wrap(fmt.Sprintf("%4d ", l.Units), fmt.Sprintf("%s%s %s: %s; need %s, left over %s%s", l.Unit, plural, unit, l.Name, need, left, price))
		for _, part := range l.Parts {
			p.wrap("       ", fmt.Sprintf("%s of %s", p.q(part.Volume), part.Name))
		}
	}
}

// heat tells what the heat does, and the nights in a table of every sixth hour.
func (p page) heat() {
	h := p.o.Heat
	if h == nil {
		return
	}
	p.title("HEAT")
	for _, x := range h.Heaters {
		what := fmt.Sprintf("%s: %s, %s", x.Name, x.Words, p.q(x.Max))
		if x.Count > 1 {
			what = fmt.Sprintf("%s: %d of %s, %s together", x.Name, x.Count, x.Words, p.q(x.Max))
		}
		if x.Fuel == "" {
			what += "; takes " + systems.KilowattHours(x.TakenIn)
		} else {
			what += fmt.Sprintf("; burns %s of %s (%s)", p.q(x.Burned), x.Fuel, p.q(x.Volume))
		}
		p.wrap("  ", what+p.tank(x)+".")
	}
	until := fmt.Sprintf("Until %s the slab is down to %s (%s), its margin above the dew point to %s (%s)", p.when(h.Until), p.q(h.LowestSlab), p.when(h.LowestSlabAt), p.q(h.LowestMargin), p.when(h.LowestMarginAt))
	if h.VentedMargin != nil {
		until += fmt.Sprintf(", with vented heat to %s; carbon dioxide up to %s", p.q(*h.VentedMargin), p.q(h.CO2))
	}
	p.wrap("  ", until+".")
	p.water()
	tanks := false
	has := make([]bool, len(h.Heaters)) // a tank: what comes from a main has nothing left to tell
	for k, x := range h.Heaters {
		has[k] = x.Fuel != "" && (len(x.Empty) > 0 || slices.ContainsFunc(h.Hours, func(x systems.HeatHour) bool { return x.Fuel[k] > 0 }))
		tanks = tanks || has[k]
	}
	head := fmt.Sprintf("  %-16s %9s %9s %6s %9s %9s %14s", "", "outdoors", "air", "RH", "slab", "dew point", "heat taken in")
	if tanks {
		head += "  fuel left"
	}
	p.f("%s\n", head)
	fog := false
	for i := 0; i < len(h.Hours); i += 6 {
		x := h.Hours[i]
		rh := p.q(x.RH)
		if x.RH > 1.0005 {
			fog, rh = true, ">100 %"
		}
		fuel := ""
		for k, m := range x.Fuel {
			if has[k] {
				fuel += " " + p.q(m)
			}
		}
		p.f("%s\n", strings.TrimRight(fmt.Sprintf("  %-16s %9s %9s %6s %9s %9s %14s %s", p.when(x.At), p.q(x.Outdoors), p.q(x.Air), rh, p.q(x.Slab), p.q(x.DewPoint), p.q(x.Power), fuel), " "))
	}
	if fog {
		p.wrap("  ", "Above 100 % the air fogs and water runs down cold walls, glass and slab. The forecast leaves that water in the air: where it runs down and dries off again, the space stays damp for longer than it says.")
	}
}

// tank tells when a tank runs dry and is refilled, in the order of time.
func (p page) tank(x systems.HeaterUse) string {
	type event struct {
		at   time.Time
		what string
	}
	var all []event
	for _, t := range x.Empty {
		all = append(all, event{t, "; the tank runs dry "})
	}
	for _, t := range x.Refilled {
		all = append(all, event{t, "; refilled "})
	}
	slices.SortStableFunc(all, func(a, b event) int { return a.at.Compare(b.at) })
	s := ""
	for _, e := range all {
		s += e.what + p.when(e.at)
	}
	return s
}

func (p page) schedule() {
	p.title("WHAT TO DO WHEN")
	last, held := "", false
	nights := p.o.Nights
	for _, w := range p.o.Schedule {
		for len(nights) > 0 && !nights[0].Until.After(w.Start) {
			p.night(nights[0], &last)
			nights = nights[1:]
		}
		start, end := w.Start.In(systems.OffsetOf(p.o.Start)), w.End.In(systems.OffsetOf(p.o.Start))
		p.day(start, &last)
		to := end.Format("15:04")
		if end.YearDay() != start.YearDay() || end.Year() != start.Year() {
			to = end.Format("Mon 15:04")
		}
		title := w.Title
		if w.Section > 0 && p.o.Sections > 1 {
			title += fmt.Sprintf(" [section %d of %d]", w.Section, p.o.Sections)
		}
		if w.Status != "" {
			title += " [" + w.Status + "]"
		}
		p.wrap(fmt.Sprintf("  %s-%-9s ", start.Format("15:04"), to), title)
		const in = "                  "
		crew := "no crew"
		if w.Crew > 0 {
			crew = "crew " + p.q(w.Crew)
		}
		p.wrap(in, crew+"; then because: "+w.Binding)
		p.wrap(in, fmt.Sprintf("slab %s, air %s, RH %s, slab above dew point %s", p.q(w.Slab), p.q(w.Air), p.q(w.RH), p.q(w.Margin)))
		var events []string
		for _, e := range w.Events {
			name := strings.ReplaceAll(e.Event, "-", " ")
			switch {
			case e.At == nil:
				events = append(events, name+" never")
			case e.Held:
				held = true
				events = append(events, name+" "+p.when(*e.At)+" *")
			default:
				events = append(events, name+" "+p.when(*e.At))
			}
		}
		if len(events) > 0 {
			p.wrap(in, strings.Join(events, "; "))
		}
		if w.Section < 2 { // said once
			if w.Needs != "" {
				p.wrap(in, "needs: "+p.own(w.Needs))
			}
			if w.Leaves != "" {
				p.wrap(in, "leaves: "+p.own(w.Leaves))
			}
			for _, c := range w.Checks {
				p.wrap(in, "check: "+p.own(c))
			}
		}
	}
	for _, n := range nights {
		p.night(n, &last)
	}
	if held {
		p.f("* beyond the last temperatures given, which are held\n")
	}
}

func (p page) takeOff() {
	p.title("TAKE-OFF")
	for _, n := range p.o.TakeOff {
		p.wrap("", fmt.Sprintf("%s: %s, %s", n.Title, n.Name, p.q(n.Area)))
		switch {
		case n.Gross > 0:
			line := ""
			add := func(name string, v units.Volume) {
				if v > 0 {
					if line != "" {
						line += " + "
					}
					line += name + " " + p.q(v)
				}
			}
			add("film", n.Film)
			add("fill", n.Fill)
			add("open voids", n.Voids)
			add("profile", n.Profile)
			add("pores", n.Uptake)
			add("crust", n.Texture)
			add("edges", n.Edges)
			add("faces", n.Faces)
			add("tools", n.Tools)
			add("buckets", n.Residue)
			add("waste", n.Waste)
			p.wrap("    ", line+" = "+p.q(n.Gross))
			if n.Wet > 0 {
				p.wrap("    ", fmt.Sprintf("wet film %s, dry %s, %s with all losses", p.q(n.Wet), p.q(n.Dry), p.q(n.Spread)))
			}
			if n.Sand > 0 {
				what := "mortar"
				if n.Wet > 0 {
					what = "with its filler"
				}
				p.wrap("    ", fmt.Sprintf("%s %s; %s in place %s", p.q(n.Sand), n.SandName, what, p.q(n.Mortar)))
			}
			if n.Ground > 0 {
				p.wrap("    ", fmt.Sprintf("of it %s proud, to be ground or shaved off", p.q(n.Ground)))
			}
			if n.Thinner > 0 {
				p.wrap("    ", fmt.Sprintf("thinner %s beside it", p.q(n.Thinner)))
			}
			if v := n.Volatiles; v != nil {
				s := fmt.Sprintf("volatile organic compounds %s as applied", systems.VolatilesText(v.Actual, p.sys))
				if v.LessWater > v.Actual*(1+1e-9) {
					s += fmt.Sprintf(", %s less water and exempt ones", systems.VolatilesText(v.LessWater, p.sys))
				}
				p.wrap("    ", s+fmt.Sprintf("; %s in all", p.q(v.Organic)))
			}
			if b := n.Batches; b != nil {
				var parts []string
				for _, part := range b.Parts {
					parts = append(parts, fmt.Sprintf("%s (%s) %s", p.q(part.Volume), p.q(part.Mass), part.Name))
				}
				p.wrap("    ", fmt.Sprintf("mix %d x %s, %s: %s", b.N, p.q(b.Each), b.Ratio, strings.Join(parts, " + ")))
				p.wrap("    ", fmt.Sprintf("largest batch %s (%s); pot life %s at %s", p.q(b.Largest), b.Binding, p.q(b.PotLife), p.q(b.At)))
				if d := b.Dose; d != nil {
					p.wrap("    ", fmt.Sprintf("dose of %s: %s by mass at %s, %s a batch, weighed; %s in all", d.Part, p.q(d.Share), p.q(d.At), p.q(d.Each), p.q(d.All)))
				}
			}
		case n.Thrown > 0:
			p.wrap("    ", fmt.Sprintf("throw %s, held %s, vacuumed back %s; held %s", p.q(n.Thrown), p.q(n.Held), p.q(n.Vacuumed), p.q(n.Loading)))
			if n.Bought > 0 && n.Bought < n.Thrown {
				p.wrap("    ", fmt.Sprintf("buy %s: what is vacuumed off a section is thrown on the next", p.q(n.Bought)))
			}
			if n.Window > 0 {
				s := fmt.Sprintf("the film takes grain for %s", p.q(n.Window))
				if n.AtOnce > 0 {
					s += fmt.Sprintf(": spread at most %s in one go", p.q(n.AtOnce))
				}
				p.wrap("    ", s)
			}
			if n.Embedded < 1 {
				p.wrap("    ", fmt.Sprintf("one layer of grain, embedded %s of its height", p.q(n.Embedded)))
			}
			if n.Light {
				p.wrap("    ", "a light broadcast, not to refusal")
			}
		}
	}
}

func (p page) build() {
	if len(p.o.Build) == 0 {
		return
	}
	p.title("BUILD-UP")
	for _, l := range p.o.Build {
		p.wrap(fmt.Sprintf("%10s  total %-10s ", p.q(l.Adds), p.q(l.Total)), l.Title)
	}
	for _, m := range p.o.Marks {
		word := "hidden"
		switch {
		case m.Shows && !m.Flooded:
			word = "it may show: the film is thinner than the scratch"
		case m.Shows:
			word = "it may show"
		}
		p.wrap("", fmt.Sprintf("Scratch of the last grit after %s: %s left, %s.", m.Step, p.q(m.Relief), word))
	}
}

func (p page) alternatives() {
	if len(p.o.Alternatives) == 0 {
		return
	}
	p.title("OTHER WAYS")
	for _, a := range p.o.Alternatives {
		s := fmt.Sprintf("%s: %s", a.Way, a.What)
		if a.Warmer > 0 {
			s += fmt.Sprintf(", by %s", p.q(a.Warmer))
		}
		if a.Why != "" {
			s += " (" + p.own(a.Why) + ")"
		}
		if a.Start != nil {
			s += ". Starts " + p.when(*a.Start)
		}
		if a.Service != nil {
			s += ", full service " + p.when(*a.Service)
		}
		if len(a.Leaves) > 0 {
			s += ". Does not help against: " + strings.Join(a.Leaves, ", ")
		}
		if len(a.Clears) > 0 {
			s += ". Clears: " + plain(a.Clears)
		}
		if len(a.Brings) > 0 {
			s += ". Brings: " + plain(a.Brings)
		}
		p.wrap(fmt.Sprintf("%-6s ", a.Step), s+".")
	}
}

// plain says findings that are named by their keys, with their step before the
// key or without one, as a person does: "prime: slab too cold before tack-free".
func plain(findings []string) string {
	said := make([]string, len(findings))
	for i, f := range findings {
		step, key, ok := strings.Cut(f, " ")
		if !ok {
			step, key = "", f
		} else {
			step += ": "
		}
		said[i] = step + strings.NewReplacer("tack-free", "tack-free", "-", " ").Replace(key)
	}
	return strings.Join(said, "; ")
}

func (p page) cautions() {
	p.title("CAUTIONS")
	for _, c := range p.o.Cautions {
		p.wrap("* ", c.Title+": "+c.Text)
	}
	p.wrap("", "These remind and do not replace the products' safety data sheets, local codes and licensed practice.")
}

func (p page) files() {
	p.title("DATA USED")
	if s := p.o.Share(); s != "" {
		p.wrap("", s)
	}
	for _, f := range p.o.Files {
		p.f("%s\n", strings.TrimRight(fmt.Sprintf("  %-9s %s %s %s %s", f.Kind, f.ID, f.Version, f.Hash[:min(12, len(f.Hash))], f.Layer), " "))
	}
}
