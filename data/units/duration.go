package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// A Span is a [time.Duration] that reads and writes itself as text, for the
// fields of files: "4h30m", "7d", "90s". Convert it to a time.Duration to compute.
type Span time.Duration

const spanWords = "w (7 d), d (24 h), h, m, s, ms, us, ns, as in 4h30m or 7d"

var spanUnits = []struct {
	name string
	unit time.Duration
}{
	{"w", 7 * 24 * time.Hour}, {"d", 24 * time.Hour}, {"h", time.Hour},
	{"ms", time.Millisecond}, {"us", time.Microsecond}, {"µs", time.Microsecond}, {"ns", time.Nanosecond},
	{"min", time.Minute}, {"m", time.Minute}, {"s", time.Second},
}

// ParseDuration reads a duration as written in files: one or more numbers,
// each with its unit, as in "4h30m", "7d", "1.5h" or "45 min". A day is 24 h.
// A number alone is an error, and so is a negative or an overflowing duration.
func ParseDuration(text string) (time.Duration, error) {
	fail := func(reason string) (time.Duration, error) {
		return 0, &ParseError{Kind: "duration", Text: text, Reason: reason, Allowed: spanWords}
	}
	rest := strings.Trim(text, blanks)
	if rest == "" {
		return fail("empty")
	}
	last := time.Duration(math.MaxInt64)
	var exact time.Duration
	for rest != "" {
		if rest[0] == '-' || rest[0] == '+' || strings.HasPrefix(rest, "\u2212") {
			return fail("durations have no sign")
		}
		mant, exp, after, ok := scan(rest)
		if !ok || exp != 0 {
			return fail("it does not consist of numbers and units")
		}
		after = strings.TrimLeft(after, blanks)
		if after == "" {
			return fail("a number alone has no unit")
		}
		var unit time.Duration
		for _, u := range spanUnits {
			if tail, ok := strings.CutPrefix(after, u.name); ok && (tail == "" || tail[0] == ' ' || tail[0] >= '0' && tail[0] <= '9') {
				unit, after = u.unit, tail
				break
			}
		}
		if unit == 0 {
			return fail(fmt.Sprintf("unknown unit at %q", after))
		}
		if unit >= last {
			return fail("units must come largest first, each once")
		}
		last = unit
		v, err := strconv.ParseFloat(mant, 64)
		if err != nil {
			return fail("too large")
		}
		whole := math.Floor(v)
		if !(whole <= float64(math.MaxInt64/unit)) || whole == math.MaxInt64 {
			return fail("too large: at most 292 years")
		}
		n := time.Duration(whole) * unit
		for _, part := range [2]time.Duration{n, time.Duration(math.Round((v - whole) * float64(unit)))} {
			if part > math.MaxInt64-exact {
				return fail("too large: at most 292 years")
			}
			exact += part
		}
		rest = strings.TrimLeft(after, blanks)
	}
	return exact, nil
}

// DurationText writes d as ParseDuration reads it, exactly: "4h30m", "7d", "0s".
func DurationText(d time.Duration) string {
	if d == 0 {
		return "0s"
	}
	var b strings.Builder
	u := uint64(d)
	if d < 0 { // files have none; shown for debugging only
		b.WriteByte('-')
		u = -u
	}
	for _, s := range []struct {
		name string
		unit time.Duration
	}{{"d", 24 * time.Hour}, {"h", time.Hour}, {"m", time.Minute}, {"s", time.Second}, {"ms", time.Millisecond}, {"us", time.Microsecond}, {"ns", time.Nanosecond}} {
		if n := u / uint64(s.unit); n > 0 {
			b.WriteString(strconv.FormatUint(n, 10))
			b.WriteString(s.name)
			u -= n * uint64(s.unit)
		}
	}
	return b.String()
}

// Duration returns s as a time.Duration.
func (s Span) Duration() time.Duration { return time.Duration(s) }

// String returns s as text, exactly.
func (s Span) String() string { return DurationText(time.Duration(s)) }

// MarshalText returns the text of String. A negative span is an error.
func (s Span) MarshalText() ([]byte, error) {
	if s < 0 {
		return nil, &ParseError{Kind: "duration", Text: s.String(), Reason: "durations have no sign", Allowed: spanWords}
	}
	return []byte(s.String()), nil
}

// UnmarshalText reads what [ParseDuration] reads.
func (s *Span) UnmarshalText(text []byte) error {
	d, err := ParseDuration(string(text))
	if err == nil {
		*s = Span(d)
	}
	return err
}

// durations names the kind of Span, for finding and listing only.
var durations = kind{name: "duration", symbols: []symbol{{"s", 0, 1, ""}}, si: []scale{{0, "s", 3}}, us: []scale{{0, "s", 3}}}

func (s Span) quantity() (*kind, float64) { return &durations, time.Duration(s).Seconds() }

// forPeople rounds to what a crew reads: "2d 4h", "4h 30m", "25m", "40s".
func (s Span) forPeople() string {
	d := time.Duration(s)
	switch {
	case d >= 48*time.Hour:
		d = d.Round(time.Hour)
	case d >= 2*time.Minute:
		d = d.Round(time.Minute)
	default:
		d = d.Round(time.Second)
	}
	t := DurationText(d)
	var b strings.Builder
	for i, c := range t {
		if i > 0 && c >= '0' && c <= '9' && t[i-1] > '9' {
			b.WriteByte(' ')
		}
		b.WriteRune(c)
	}
	return b.String()
}
