package main

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/draw"
)

//go:embed sheet.toml
var demoSheet []byte

//go:embed night.toml
var demoNight []byte

// wishes is what the flags ask for beside a sheet and a night.
type wishes struct {
	sys              units.System
	sheet, night     string
	demo, beyond     bool
	from, now, hours units.Span
	within           units.TempDelta
	by, event, file  string
	width            units.Length
	dpi              int
	given            map[string]bool
}

// An answer is what is told of an event.
type answer struct {
	cure.Arrival
	cure.Interval
	known bool
}

func (w wishes) read() (s datasheet, h history, err error) {
	files := [2]struct {
		name string
		text []byte
	}{{"sheet.toml", demoSheet}, {"night.toml", demoNight}}
	if !w.demo {
		for i, path := range [2]string{w.sheet, w.night} {
			if path == "" {
				return s, h, fmt.Errorf("-sheet = %q, -night = %q: want both, or -demo", w.sheet, w.night)
			}
			files[i].name = filepath.Base(path)
			if files[i].text, err = os.ReadFile(path); err != nil {
				return s, h, err
			}
		}
	} else if w.sheet != "" || w.night != "" {
		return s, h, errors.New("found -demo beside -sheet or -night: want one or the other")
	}
	if s, err = readSheet(files[0].name, files[0].text); err != nil {
		return s, h, err
	}
	h, err = readHistory(files[1].name, files[1].text)
	return s, h, err
}

// along tells when each event of a sheet comes along a night.
func (w wishes) along() (string, error) {
	s, h, err := w.read()
	if err != nil {
		return "", err
	}
	if !(w.within >= 0 && w.within <= 20) {
		return "", fmt.Errorf("-within = %v: want 0 to 20 K", w.within)
	}
	start := w.from.Duration()
	if start < 0 || start > h.trace[len(h.trace)-1].At {
		return "", fmt.Errorf("-from = %v: want 0h to the last reading at %s", w.from, units.DurationText(h.trace[len(h.trace)-1].At))
	}
	if w.given["now"] && len(s.windows) == 0 {
		return "", fmt.Errorf("-now = %v: the sheet has no windows: want one, such as [windows.recoat]", w.now)
	}
	if w.given["now"] && w.now.Duration() < start {
		return "", fmt.Errorf("-now = %v: want it not before the coat goes down, -from = %v", w.now, w.from)
	}
	answers, err := w.answers(s, h, start)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	when := func(at time.Duration) string {
		if at == cure.Never {
			return "never"
		}
		form := "Mon 15:04"
		if at >= 6*24*time.Hour || at < 0 {
			form = "Mon 2 Jan 2006 15:04"
		}
		return h.start.Add(at).Round(time.Minute).Format(form)
	}
	fmt.Fprintf(&b, "%s\n%s, coat down %s\n", cmpOr(s.name, "data sheet"), cmpOr(h.place, "night"), h.start.Add(start).Format("Mon 2 Jan 2006 15:04"))
	low, last := h.trace[0], h.trace[len(h.trace)-1]
	for _, x := range h.trace {
		if x.Temp.Less(low.Temp) {
			low = x
		}
	}
	fmt.Fprintf(&b, "coldest %s (%s), last %s (%s), which is held from there on\n\n", units.Format(low.Temp, w.sys), when(low.At), units.Format(last.Temp, w.sys), when(last.At))
	wide := len("event")
	for _, e := range s.events {
		wide = max(wide, len([]rune(e.name)))
	}
	line := func(cells ...any) {
		fmt.Fprintln(&b, strings.TrimRight(fmt.Sprintf("%-*s  %-9s  %-8s  %-22s  %-24s  %s", append([]any{wide}, cells...)...), " "))
	}
	line("event", "reached", "after", "95 % interval", "interval from", "last temperature")
	for i, e := range s.events {
		a := answers[i]
		if a.Never {
			line(e.name, "never", "", "", "", "held: no progress at it")
			continue
		}
		interval, held := "", ""
		if a.known {
			interval = when(a.Lo) + " to " + when(a.Hi)
		}
		switch {
		case a.Arrival.Held:
			held = "held"
		case a.known && a.Interval.Held:
			held = "held for the late end"
		}
		line(e.name, when(a.Arrival.At), units.DurationText((a.Arrival.At - start).Round(time.Minute)), interval, e.from(w.within), held)
	}
	for _, e := range s.events {
		for _, d := range e.fit.Doubts {
			fmt.Fprintf(&b, "doubt about the fit of %s: %s\n", e.name, d)
		}
	}
	if w.beyond {
		b.WriteString("beyond the rows: a fit goes on; of two rows an earliest time waits and a latest one does not lengthen\n")
	}
	if err := w.windows(&b, s, h, answers, start, when); err != nil {
		return "", err
	}
	if err := w.latest(&b, s, h, when); err != nil {
		return "", err
	}
	if w.file != "" {
		if err := w.picture(s, h, answers, start); err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "picture in %s\n", w.file)
	}
	return b.String(), nil
}

func cmpOr(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

// outside adds what to do to an error of a law that does not hold.
func (w wishes) outside(name string, err error) error {
	text := strings.ReplaceAll(err.Error(), "\n", "; ")
	if errors.Is(err, units.ErrRange) && !w.beyond {
		return fmt.Errorf("%s: the night leaves the rows of the sheet (%s); -beyond goes on past them", name, text)
	}
	return fmt.Errorf("%s: %s", name, text)
}

func (w wishes) answers(s datasheet, h history, start time.Duration) ([]answer, error) {
	out := make([]answer, len(s.events))
	var laws []cure.Law
	for i := range s.events {
		laws = append(laws, s.events[i].law(w.beyond))
	}
	arrivals, err := cure.ReachAll(laws, h.trace, start)
	if err != nil {
		for i, law := range laws { // whose it is
			if _, err := cure.Reach(law, h.trace, start); err != nil && !errors.Is(err, cure.ErrNotReached) {
				return nil, w.outside(s.events[i].name, err)
			}
		}
		return nil, err
	}
	for i := range s.events {
		e := &s.events[i]
		out[i].Arrival = arrivals[i]
		if out[i].Never {
			continue
		}
		if out[i].Interval, out[i].known, err = e.interval(h.trace, start, w.within, w.beyond); err != nil {
			return nil, w.outside(e.name, err)
		}
	}
	return out, nil
}

// windows tells from when to when each is open, and how long from a moment on.
func (w wishes) windows(b *strings.Builder, s datasheet, h history, all []answer, start time.Duration, when func(time.Duration) string) error {
	for _, one := range s.windows {
		opens, closes := all[one.opens], all[one.closes]
		switch {
		case opens.Never:
			fmt.Fprintf(b, "\n%s: never opens\n", one.name)
			continue
		case closes.Never:
			fmt.Fprintf(b, "\n%s: open from %s on, never closes\n", one.name, when(opens.Arrival.At))
			continue
		case closes.Arrival.At <= opens.Arrival.At:
			fmt.Fprintf(b, "\n%s: never open: it would close %s, before it opens %s\n", one.name, when(closes.Arrival.At), when(opens.Arrival.At))
			continue
		}
		fmt.Fprintf(b, "\n%s: open %s to %s, for %s", one.name, when(opens.Arrival.At), when(closes.Arrival.At), units.DurationText((closes.Arrival.At - opens.Arrival.At).Round(time.Minute)))
		if opens.known && closes.known {
			if opens.Hi < closes.Lo {
				fmt.Fprintf(b, "; by the safe ends of both intervals %s to %s", when(opens.Hi), when(closes.Lo))
			} else {
				b.WriteString("; by the safe ends of both intervals not at all")
			}
		}
		b.WriteByte('\n')
		if !w.given["now"] {
			continue
		}
		now := w.now.Duration()
		left, err := cure.UntilClosed(s.events[one.closes].law(w.beyond), h.trace, start, now)
		if err != nil {
			return w.outside("-now", err)
		}
		text := units.DurationText(left.Abs().Round(time.Minute))
		switch {
		case left <= 0:
			fmt.Fprintf(b, "%s: at %s closed for %s\n", one.name, when(now), text)
		case now < opens.Arrival.At:
			fmt.Fprintf(b, "%s: at %s opens in %s, closes in %s\n", one.name, when(now), units.DurationText((opens.Arrival.At - now).Round(time.Minute)), text)
		default:
			fmt.Fprintf(b, "%s: at %s open for another %s\n", one.name, when(now), text)
		}
	}
	return nil
}

// moment reads a time on the night's clock: 13h, 07:00 (the first after the
// night's start) or a full one with its offset.
func (h history) moment(name, text string) (time.Duration, error) {
	if d, err := units.ParseDuration(text); err == nil && d >= 0 {
		return d, nil
	}
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		clock, bad := time.Parse("15:04", text)
		if bad != nil {
			return 0, fmt.Errorf("-%s: found %q: want a time such as 13h after the night's start, 07:00, or 2026-04-11T07:00:00-05:00", name, text)
		}
		y, m, d := h.start.Date()
		at = time.Date(y, m, d, clock.Hour(), clock.Minute(), 0, 0, h.start.Location())
		if at.Before(h.start) {
			at = at.AddDate(0, 0, 1)
		}
	}
	d := at.Sub(h.start)
	if most := 60 * 24 * time.Hour; d < 0 || d > most {
		return 0, fmt.Errorf("-%s: found %q: want it within 60 days after the night's start %s", name, text, h.start.Format(time.RFC3339))
	}
	return d, nil
}

// latest tells when to begin so that events are reached by a time.
func (w wishes) latest(b *strings.Builder, s datasheet, h history, when func(time.Duration) string) error {
	if w.by == "" {
		if w.event != "" {
			return fmt.Errorf("-event = %q: want -by beside it, the time by which it is reached", w.event)
		}
		return nil
	}
	by, err := h.moment("by", w.by)
	if err != nil {
		return err
	}
	var names []string
	for _, e := range s.events {
		names = append(names, e.name)
	}
	if w.event != "" && !slices.Contains(names, w.event) {
		return fmt.Errorf("-event = %q: want one of %s", w.event, strings.Join(names, ", "))
	}
	b.WriteByte('\n')
	for i := range s.events {
		e := &s.events[i]
		if w.event != "" && e.name != w.event || w.event == "" && e.latest {
			continue
		}
		at, err := cure.LatestStart(e.law(w.beyond), h.trace, by)
		if errors.Is(err, cure.ErrNotReached) {
			fmt.Fprintf(b, "%s by %s: no start is early enough\n", e.name, when(by))
			continue
		}
		if err != nil {
			return w.outside(e.name, err)
		}
		fmt.Fprintf(b, "%s by %s: start %s at the latest%s", e.name, when(by), when(at), before(at))
		if sure, ok := w.sure(e, h, at, by); ok {
			fmt.Fprintf(b, "; for the late end of its interval %s%s", when(sure), before(sure))
		}
		b.WriteByte('\n')
	}
	return nil
}

func before(at time.Duration) string {
	if at < 0 {
		return " (before the first reading, which is held)"
	}
	return ""
}

// sure returns the latest start, to the second, with which the late end of the
// event's interval is no later than by; false if there is none.
func (w wishes) sure(e *event, h history, late, by time.Duration) (time.Duration, bool) {
	fits := func(start time.Duration) bool {
		v, known, err := e.interval(h.trace, start, w.within, w.beyond)
		return err == nil && known && v.Hi <= by
	}
	if fits(late) {
		return late, true
	}
	no, yes := late, late
	for k := 1; ; k *= 2 {
		yes = late - time.Duration(k)*(by-late)/8
		if fits(yes) {
			break
		}
		if k > 256 {
			return 0, false
		}
		no = yes
	}
	for no-yes > time.Second {
		if mid := yes + (no-yes)/2; fits(mid) {
			yes = mid
		} else {
			no = mid
		}
	}
	return yes, true
}

// picture draws what is shown.
func (w wishes) picture(s datasheet, h history, all []answer, start time.Duration) error {
	format := strings.TrimPrefix(filepath.Ext(w.file), ".")
	if format != "svg" && format != "png" {
		return fmt.Errorf("-picture = %q: want a name that ends in .svg or .png", w.file)
	}
	n, err := w.shown(s, h, all, start)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := draw.Progress(&b, format, n); err != nil {
		return err
	}
	return os.WriteFile(w.file, b.Bytes(), 0o644)
}

// shown is the night up to the last event, or the hours asked for.
func (w wishes) shown(s datasheet, h history, all []answer, start time.Duration) (draw.ProgressSheet, error) {
	const most = 7 * 24 * time.Hour
	to := h.trace[len(h.trace)-1].At
	for _, a := range all {
		if !a.Never {
			to = max(to, a.Arrival.At+time.Hour, min(a.Hi, a.Arrival.At+(a.Arrival.At-start)/4)) // a long interval goes on beyond the sheet
		}
	}
	to = min(max(to, 30*time.Minute), most)
	if w.given["hours"] {
		to = w.hours.Duration()
		if to < 30*time.Minute || to > most {
			return draw.ProgressSheet{}, fmt.Errorf("-hours = %v: want 30 min to 7d", w.hours)
		}
	}
	if start >= to {
		return draw.ProgressSheet{}, fmt.Errorf("-from = %v: want it before the end of the picture at %s", w.from, units.DurationText(to))
	}
	n := draw.ProgressSheet{Title: s.name, Place: h.place, Start: h.start, System: w.sys, History: h.trace, Begun: start, To: to, Within: w.within, Width: w.width, DPI: w.dpi}
	for i := range s.events {
		e, a := &s.events[i], all[i]
		end := to
		if !a.Never {
			end = min(to, a.Arrival.At)
		}
		const steps = 240
		var at []time.Duration
		for k := range steps + 1 {
			at = append(at, start+(end-start)/steps*time.Duration(k))
		}
		at[steps] = end
		shares, err := cure.ProgressAt(e.law(w.beyond), h.trace, start, at)
		if err != nil {
			return n, w.outside(e.name, err)
		}
		c := draw.EventCourse{Name: strings.ReplaceAll(e.name, "-", " "), Reached: !a.Never, At: a.Arrival.At}
		for k, share := range shares {
			c.Curve = append(c.Curve, draw.Done{At: at[k], Share: share})
		}
		if a.known {
			c.Lo, c.Hi = min(a.Lo, a.Arrival.At), max(a.Hi, a.Arrival.At)
		}
		n.Events = append(n.Events, c)
	}
	for _, one := range s.windows {
		opens, closes := all[one.opens], all[one.closes]
		end := closes.Arrival.At
		if closes.Never {
			end = cure.Never
		}
		if !opens.Never && opens.Arrival.At < end {
			n.Windows = append(n.Windows, draw.Window{Name: strings.ReplaceAll(one.name, "-", " ") + " window", From: opens.Arrival.At, To: end})
		}
	}
	return n, nil
}
