package systems

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/minor"
)

// Sentences says the decision in plain words, with its quantities in s.
func (d *Decision) Sentences(s units.System) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	over := "light foot traffic"
	if d.HandOver == Service {
		over = "full service"
	}
	goal := map[string]string{Earliest: "Earliest hand-over", LeastFuel: "Least fuel", LeastCost: "Least cost", FewestFindings: "Fewest findings"}[d.Goal]
	say("%s: the floor is handed over for %s %s.", goal, over, d.words(d.Score, s))
	if o := d.Outcome; o != nil && (d.HandOver == Foot && o.FootHeld || d.HandOver == Service && o.ServiceHeld) {
		say("That is after the last slab temperature given: it holds if that one does until then.")
	}
	say("The work starts %s; heat: %s.", d.Start.Format(stamp), d.Heat)
	for _, x := range d.Burned {
		if x.Fuel == "" {
			say("%s takes in %s of current until the hand-over.", x.Heater, KilowattHours(x.Energy))
		} else {
			say("%s burns %s of %s until the hand-over.", x.Heater, units.Format(x.Mass, s), x.Fuel)
		}
	}
	for _, c := range d.Coats {
		when := "is not planned"
		if c.Start != nil {
			when = "starts " + c.Start.Format(stamp)
		}
		if c.NotBefore != nil {
			when += ", held back until " + c.NotBefore.Format(stamp)
		}
		say("%s: %s (%s); it %s.", c.Step, c.Name, c.Option, when)
	}
	for _, l := range d.Cost {
		say("%s, %s: %s at %s: %s.", strings.ToUpper(l.For[:1])+l.For[1:], l.What, l.Quantity, l.Price, d.money(l.Minor))
	}
	looked := fmt.Sprintf("%d states", d.States)
	if d.Plans > 0 {
		looked = fmt.Sprintf("%d plans", d.Plans)
	}
	ways := howMany(d.Ways)
	left := "the water of coats and slab"
	if d.prices != nil {
		left += ", batches, overtime and waiting"
	}
	switch {
	case d.Optimal && len(d.Weighed) == 0:
		say("No other of the %s choices is better: proved by %s.", ways, looked)
	case d.Optimal && d.Spaces > 0:
		say("No other of the %s choices is better: proved by %s, by bounds that hold with %s, and by searches to the end in %d spaces with it; %s planned with that.", ways, looked, left, d.Spaces, choices(len(d.Weighed)))
	case d.Optimal:
		say("No other of the %s choices is better: proved by %s, and by bounds that hold with %s; %s planned with that.", ways, looked, left, choices(len(d.Weighed)))
	case d.Searched && len(d.Weighed) == 0:
		say("The best of %s choices as far as %s is left out: proved by %s.", ways, left, looked)
	case d.Searched:
		of := "of these and of all that the search counts fully"
		switch {
		case !d.counts && len(d.Weighed) == 1:
			of = ""
		case !d.counts:
			of = "of these"
		}
		if of != "" {
			of = ", and this is the best " + of
		}
		say("Of %s choices the search without %s went to its end, by %s; %s planned with that%s.", ways, left, looked, choices(len(d.Weighed)), of)
	case len(d.Weighed) == 0:
		say("The best found among %s choices by %s.", ways, looked)
	default:
		say("The best found among %s choices by %s without %s; %s planned with that.", ways, looked, left, choices(len(d.Weighed)))
	}
	switch {
	case d.Gap != "" && d.GapOfWater:
		say("That no other is better is not proved: with a coat or slab that gives water to the air %s.", d.Gap)
	case d.Gap != "":
		say("That no other is better is not proved: %s.", d.Gap)
	}
	for _, text := range d.Changed {
		say("%s%s.", strings.ToUpper(text[:1]), text[1:])
	}
	for _, f := range d.Uncounted {
		say("Not counted, for it begins after the hand-over, when the heat is off: %s", f.Sentence(s))
	}
	for _, o := range d.Others {
		say("With %s for %s: %s%s.", o.Name, o.Step, d.words(o.Score, s), estimate(o.Estimate))
	}
	for _, h := range d.Heats {
		if h.HeatChoice != d.Heat {
			say("With %s: %s%s.", h.HeatChoice, d.words(h.Score, s), estimate(h.Estimate))
		}
	}
	if d.Score.Stops > 0 || d.Score.HandOver == nil {
		none := "No choice is"
		if d.Bound != nil && d.Bound.Stops == 0 {
			none = "No choice was found"
		}
		if len(d.Relaxations) == 0 {
			say("%s without a finding to stop for.", none)
		} else {
			say("%s without a finding to stop for. Any one of these leaves one without:", none)
		}
		for _, r := range d.Relaxations {
			say("%s: %s.", r.Text, d.words(r.Score, s))
		}
	}
	return out
}

// howMany writes a count in full below a million, and as a round number above.
func howMany(n float64) string {
	names := []string{" million", " billion", " trillion"}
	if n < 1e6 {
		return strconv.FormatFloat(n, 'f', 0, 64)
	}
	n /= 1e6
	for len(names) > 1 && n >= 999.5 {
		n, names = n/1e3, names[1:]
	}
	if n >= 999.5 {
		return fmt.Sprintf("%.2g", n*1e12)
	}
	return strconv.FormatFloat(n, 'g', 3, 64) + names[0]
}

// choices counts choices that were planned.
func choices(n int) string {
	if n == 1 {
		return "1 was"
	}
	return fmt.Sprintf("%d were", n)
}

// estimate marks what the search alone says.
func estimate(is bool) string {
	if is {
		return ", as the search takes it"
	}
	return ""
}

// money writes an amount of the goal least cost.
func (d *Decision) money(amount int64) string {
	return strings.TrimSpace(minor.Text(amount, d.Digits) + " " + d.Currency)
}

// words says a score.
func (d *Decision) words(x Score, s units.System) string {
	text := "never"
	if x.HandOver != nil {
		text = x.HandOver.Format(stamp)
	}
	if !x.Whole {
		text += ", with work that cannot be planned"
	}
	switch x.Stops {
	case 0:
		text += ", with nothing to stop for"
	case 1:
		text += ", with 1 finding to stop for"
	default:
		text += fmt.Sprintf(", with %d findings to stop for", x.Stops)
	}
	if x.Watches > 0 || x.Stops > 0 {
		text += fmt.Sprintf(" and %d to watch", x.Watches)
	} else {
		text += " or to watch"
	}
	if x.Fuel != nil && *x.Fuel > 0 {
		text += "; heat of " + units.Format(*x.Fuel, s) + " until then"
	}
	if x.Cost != nil {
		text += "; it costs " + d.money(*x.Cost)
	}
	return text
}

var bareKey = regexp.MustCompile(`^[A-Za-z0-9_-]+$`)

// key writes a TOML key.
func key(parts ...string) string {
	for i, p := range parts {
		if !bareKey.MatchString(p) {
			parts[i] = strconv.Quote(p)
		}
	}
	return strings.Join(parts, ".")
}

// keys writes the keys of the job file that a choice changes, as TOML. A table
// stands whole where it takes the place of the job's: of a step what the job says
// of it otherwise must be kept.
func (pr *problem) keys(c choice) string {
	var b strings.Builder
	j := pr.job(c)
	h := pr.heats[c.heat]
	const head = "# The decision, in place of the keys that the job has by these names.\n"
	b.WriteString(head)
	for _, id := range j.Recipe.order {
		k := slices.IndexFunc(pr.coats, func(x coatChoice) bool { return x.id == id })
		var lines []string
		if k >= 0 {
			was, is := pr.j.Recipe.Steps[id], j.Recipe.Steps[id]
			if was.Material != is.Material {
				lines = append(lines, "material = "+strconv.Quote(is.Material))
			}
			if was.Film.Text != is.Film.Text || was.Film.Origin != is.Film.Origin {
				lines = append(lines, "film = "+tomlValue(is.Film))
			}
		}
		if at, ok := j.held[id]; ok && at != pr.j.held[id] {
			lines = append(lines, fmt.Sprintf("not_before = %q # %s", units.DurationText(at), j.Start.Add(at).Format(stamp)))
		}
		if len(lines) > 0 {
			fmt.Fprintf(&b, "\n[%s]\n%s\n", key("steps", id), strings.Join(lines, "\n"))
		}
	}
	if h.Thermostat != "" {
		b.WriteString("\n[room.thermostat] # this whole table in place of the job's\n")
		for _, s := range h.job.Site.Room.Thermostat {
			text := "off"
			if s.Temp != (units.Temperature{}) {
				text = written(s.Temp)
			}
			fmt.Fprintf(&b, "%q = %q\n", pr.moment(s.At), text)
		}
	}
	for i, x := range pr.siteHeaters(h) {
		change, changed := pr.g.Heaters[h.Heaters][x.Name]
		if changed {
			fmt.Fprintf(&b, "\n[%s]\n", key("room", "heaters", x.Name))
			if change.Count > 0 {
				fmt.Fprintf(&b, "count = %d\n", change.Count)
			}
			if change.Tank > 0 {
				fmt.Fprintf(&b, "tank = %q\n", written(change.Tank))
			}
		}
		if _, ok := pr.g.Refills[h.Refills][x.Name]; ok {
			fmt.Fprintf(&b, "\n[%s] # this whole table in place of the job's\n", key("room", "heaters", x.Name, "refills"))
			for _, r := range mergedRefills(h.job.Site.Room.Heaters[i].Refills) {
				fmt.Fprintf(&b, "%q = %q\n", pr.moment(r.At), written(r.Add))
			}
		}
	}
	if b.Len() == len(head) {
		return "# The decision is the job as it stands: no key changes.\n"
	}
	return b.String()
}

// written writes a quantity as a person would where that is read as the very same,
// and else to all its digits.
func written[Q interface {
	comparable
	units.Quantity
}, P interface {
	*Q
	UnmarshalText([]byte) error
}](q Q) string {
	for _, s := range []units.System{units.US, units.SI} {
		var same Q
		if text := units.Format(q, s); P(&same).UnmarshalText([]byte(text)) == nil && same == q {
			return text
		}
	}
	return fmt.Sprint(q)
}

// moment writes a time as a job file says it: since the start, or before that by
// the clock.
func (pr *problem) moment(at time.Duration) string {
	if at < 0 {
		return pr.j.Start.Add(at).Format(time.RFC3339Nano)
	}
	return units.DurationText(at)
}

func (pr *problem) siteHeaters(h *heatWay) []SiteHeater {
	if h.job.Site == nil {
		return nil
	}
	return h.job.Site.Heaters
}

// mergedRefills adds up those of one moment, which one key of a file says.
func mergedRefills(all []climate.Refill) (out []climate.Refill) {
	for _, r := range all {
		if n := len(out); n > 0 && out[n-1].At == r.At {
			out[n-1].Add += r.Add
			continue
		}
		out = append(out, r)
	}
	return out
}

// tomlValue writes a figure with its range and where it comes from.
func tomlValue(v Value[units.Length]) string {
	parts := []string{"value = " + strconv.Quote(v.Text)}
	put := func(key, text string) {
		if text != "" {
			parts = append(parts, key+" = "+strconv.Quote(text))
		}
	}
	if v.Low != nil {
		put("low", written(*v.Low))
	}
	if v.High != nil {
		put("high", written(*v.High))
	}
	put("basis", string(v.Basis))
	put("source", v.Source)
	put("at", v.At)
	put("note", v.Note)
	return "{ " + strings.Join(parts, ", ") + " }"
}
