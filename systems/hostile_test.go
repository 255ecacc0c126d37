package systems_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
	"github.com/tackfree/tackfree/systems/report"
)

var (
	hostileJobs = flag.Int("hostile.jobs", 120, "spoilt jobs of TestHostileJobs")
	hostileSeed = flag.Uint64("hostile.seed", 8, "of how they are spoilt")
)

var (
	quoted   = regexp.MustCompile(`"[^"\n]*"`)
	numbers  = regexp.MustCompile(`-?\d+(\.\d+)?`)
	notFound = regexp.MustCompile(`(?i)\bnan\b|[-+ ":]inf\b|\binfinity\b|%!|<nil>|0x[0-9a-f]{6}|0001-01-01`)
)

// A spoiler changes the text of a job file at random.
type spoiler struct {
	*rand.Rand
	soft bool // numbers near those that were, for jobs that are still jobs
}

func (r spoiler) of(all ...string) string { return all[r.IntN(len(all))] }

// number is another number: near the one it was most times, so that many jobs
// are still jobs, or one that nobody means.
func (r spoiler) number(old string) string {
	f, err := strconv.ParseFloat(old, 64)
	switch way := r.IntN(8); {
	case way == 0 && !r.soft:
		return r.of("0", "-0", "-1", "1e300", "-1e300", "1e-300", "NaN", "inf", "-inf", "1e999", "9223372036854775808", "", "1,5", "0x10")
	case way == 1:
		return r.of("0", "1", "0.001", "1000", "100", "48", "-40", "99.9", "101")
	}
	if err != nil {
		return old
	}
	factor := []float64{0.01, 0.1, 0.5, 0.9, 0.99, 1.01, 1.1, 1.5, 2, 3, 10, 100, -1}[r.IntN(13)]
	if f == 0 {
		f = 10
	}
	return strconv.FormatFloat(f*factor, 'g', 6, 64)
}

func (r spoiler) spoil(text string) string {
	lines := strings.Split(text, "\n")
	var with []int // lines with a key
	for i, l := range lines {
		if strings.Contains(l, "=") && !strings.HasPrefix(l, "#") {
			with = append(with, i)
		}
	}
	if len(with) == 0 {
		return text
	}
	i := with[r.IntN(len(with))]
	key, value, _ := strings.Cut(lines[i], "=")
	way := r.IntN(16)
	if r.soft && way > 0 {
		way = 16
	}
	switch way {
	case 0: // a line less
		lines[i] = ""
	case 1: // any line less, a table's head with it
		lines[r.IntN(len(lines))] = ""
	case 2: // two values change places
		k := with[r.IntN(len(with))]
		other, v, _ := strings.Cut(lines[k], "=")
		lines[i], lines[k] = key+"="+v, other+"="+value
	case 3: // another type
		lines[i] = key + "= " + r.of("5", "-5", "true", "[]", "{}", "\"\"", "nan", "inf", "2026-04-07T07:00:00Z", "[[1]]", "\"5\"", "{ a = 1 }", "'''\n'''", "0.1")
	case 4: // another unit
		lines[i] = quoted.ReplaceAllStringFunc(lines[i], func(q string) string {
			if n := numbers.FindString(q); n != "" {
				return "\"" + n + " " + r.of("ft", "m", "mm", "km", "°F", "°C", "K", "%", "lb", "kg", "h", "d", "ft2", "gal", "mil", "W", "1/h", "furlong", "") + "\""
			}
			return q
		})
	case 5: // a table twice
		for _, k := range r.Perm(len(lines)) {
			if strings.HasPrefix(lines[k], "[") {
				lines = append(lines, lines[k], lines[min(k+1, len(lines)-1)])
				break
			}
		}
	case 6: // bytes that are not text
		b := []byte(lines[i])
		b[r.IntN(len(b))] = byte(r.IntN(256))
		lines[i] = string(b)
	case 7: // cut off
		if r.IntN(4) == 0 {
			lines = lines[:r.IntN(len(lines))+1]
		}
	case 8: // a line twice
		lines = append(lines[:i+1], lines[i:]...)
	case 9: // a whole table less
		for _, k := range r.Perm(len(lines)) {
			if !strings.HasPrefix(lines[k], "[") {
				continue
			}
			end := k + 1
			for end < len(lines) && !strings.HasPrefix(lines[end], "[") {
				end++
			}
			lines = append(lines[:k:k], lines[end:]...)
			break
		}
	default: // another number or two
		at := numbers.FindAllStringIndex(value, -1)
		if len(at) == 0 {
			break
		}
		a := at[r.IntN(len(at))]
		lines[i] = key + "=" + value[:a[0]] + r.number(value[a[0]:a[1]]) + value[a[1]:]
	}
	return strings.Join(lines, "\n")
}

// Whatever a job file holds, it is read and planned, asked what if, decided,
// drawn and billed, or refused with a key or field: nothing panics, hangs,
// or says a number that is none. Common practice, no source.
func TestHostileJobs(t *testing.T) {
	c := builtin(t)
	texts := []string{string(systems.DemoJob()), string(systems.DemoJob())}
	for _, name := range []string{"every-finding", "vestibule", "metric", "typed", "two-rooms", "urethane-cement", "stories/tight-weekend", "stories/unvented-heat", "../../examples/jobplan/testdata/thursday"} {
		texts = append(texts, read(t, name+".toml"))
	}
	reached := map[string]int{}
	r := spoiler{Rand: rand.New(rand.NewPCG(26, *hostileSeed))}
	for i := range *hostileJobs {
		if i > 0 && i%500 == 0 {
			t.Log(i, reached)
		}
		text := texts[r.IntN(len(texts))]
		r.soft = r.IntN(2) == 0
		for range 1 + r.IntN(3) {
			text = r.spoil(text)
		}
		fail := func(f string, args ...any) {
			t.Helper()
			name := ""
			if *hostileJobs > 1000 {
				name = fmt.Sprintf("%s/hostile-%d-%d.toml", os.TempDir(), *hostileSeed, i)
				os.WriteFile(name, []byte(text), 0o644)
			}
			t.Errorf("job %d %s: "+f, append([]any{i, name}, args...)...)
		}
		func() {
			defer func() {
				if p := recover(); p != nil {
					fail("panic: %v", p)
				}
			}()
			hostileJob(c, text, r, reached, fail)
		}()
	}
	t.Log(reached)
	for _, what := range []string{"read", "Plan", "WhatIf", "Decide", "confidence", "money"} {
		if reached[what] == 0 {
			t.Errorf("no job got as far as %s", what)
		}
	}
}

func hostileJob(c *systems.Catalog, text string, r spoiler, reached map[string]int, fail func(string, ...any)) {
	j, err := systems.ReadJob(strings.NewReader(text), c)
	if err != nil {
		all := []error{err}
		if many := (*systems.FileErrors)(nil); errors.As(err, &many) {
			all = many.All
		}
		for _, err := range all {
			var f *systems.FileError
			if !errors.As(err, &f) || f.Line == 0 && f.Key == "" || strings.Contains(err.Error(), "\n") {
				fail("no line or key, or more than one line: %v", err)
			}
		}
		return
	}
	reached["read"]++
	call := func(what string, f func(context.Context) error) bool {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		begin := time.Now()
		err := f(ctx)
		if took := time.Since(begin); took > 7*time.Second {
			fail("%s goes on for %v", what, took)
		}
		if err == nil {
			reached[what]++
			return true
		}
		if errors.Is(err, context.DeadlineExceeded) {
			reached[what+" out of time"]++
			if what == "Plan" && *hostileJobs > 1000 {
				os.WriteFile(fmt.Sprintf("%s/hostile-slow-%d-%d.toml", os.TempDir(), *hostileSeed, reached["read"]), []byte(text), 0o644)
			}
			return false
		}
		reached[what+" refused"]++
		if *hostileJobs > 1000 {
			fmt.Printf("%s: %v\n", what, err)
		}
		if notFound.MatchString(err.Error()) {
			fail("%s: %v", what, err)
		}
		return false
	}
	shown := func(what string, v any, text *bytes.Buffer) {
		b, err := json.Marshal(v)
		if err != nil {
			fail("%s in JSON: %v", what, err)
		}
		for _, b := range [][]byte{b, text.Bytes()} {
			if at := notFound.FindIndex(b); at != nil {
				fail("%s says %s", what, b[max(0, at[0]-200):min(len(b), at[1]+60)])
			}
		}
	}
	var o *systems.Outcome
	if !call("Plan", func(ctx context.Context) (err error) { o, err = systems.Plan(ctx, j); return err }) {
		return
	}
	var b bytes.Buffer
	if err := report.Write(&b, o, units.US); err != nil {
		fail("report: %v", err)
	}
	shown("Plan", o, &b)
	b.Reset()
	var x *confidence.Order
	call("confidence", func(ctx context.Context) (err error) {
		x, err = confidence.Of(ctx, o, confidence.Options{Draws: 200, Seed: 1})
		if err == nil {
			report.WriteConfidence(&b, o, x, units.SI)
			shown("confidence", x, &b)
			b.Reset()
		}
		return err
	})
	if strings.Contains(text, "\n[prices]\n") {
		call("money", func(context.Context) error {
			m, err := money.Of(o, x)
			if err == nil {
				report.WriteMoney(&b, o, m, units.SI)
				shown("money", m, &b)
				b.Reset()
			}
			return err
		})
	}
	d := [][]systems.Disturbance{
		{systems.HeatStops{At: time.Duration(r.IntN(200)) * time.Hour}},
		{systems.WeatherOff{Temp: units.TempDelta(r.IntN(20) - 10)}, systems.HandsShort{Hands: 1}},
		{systems.MoreUptake{Times: 1.3}, systems.NoRefill{}},
	}[r.IntN(3)]
	call("WhatIf", func(ctx context.Context) error {
		w, err := systems.WhatIf(ctx, j, d...)
		if err == nil {
			report.WriteDifference(&b, w, units.US)
			shown("WhatIf", w, &b)
			b.Reset()
		}
		return err
	})
	if r.IntN(8) == 0 {
		g := j.Goal
		g.For = r.of(systems.Earliest, systems.LeastFuel, systems.LeastCost, systems.FewestFindings)
		call("Decide", func(ctx context.Context) error {
			d, err := systems.Decide(ctx, j, g)
			if err == nil {
				b.WriteString(strings.Join(d.Sentences(units.US), "\n"))
				shown("Decide", d, &b)
				b.Reset()
			}
			return err
		})
	}
}
