package draw

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// Whose a band's text is must be seen without colours: it stands at its band, or
// a line leads there that runs through no other text; and it stands in no other
// band (no source: what a reader of a black and white print needs). Bands as
// those of a job whose lines leave little room.
func TestBandTexts(t *testing.T) {
	for _, width := range []units.Length{0, 400. / 96, 8.27, 16.5} {
		for shift := range 6 {
			n := weekJob(units.US)
			n.Width, n.Bands = width*units.Inch, nil
			flat := func(f float64) climate.Trace { return climate.Trace{{At: 0, Temp: units.Fahrenheit(f)}} }
			n.Air, n.Slab, n.Dew = flat(64), flat(59), flat(54)
			for h := range 31 { // to and fro all over the rest
				n.Outdoors = append(n.Outdoors, climate.Reading{At: time.Duration(4*h) * time.Hour, Temp: units.Fahrenheit(40 + 20*float64(h%2)), RH: 0.7})
			}
			n.Air = append(n.Air, climate.Sample{At: n.To, Temp: n.Air[0].Temp})
			n.Slab = append(n.Slab, climate.Sample{At: n.To, Temp: n.Slab[0].Temp})
			n.Dew = append(n.Dew, climate.Sample{At: n.To, Temp: n.Dew[0].Temp})
			at := func(h int) time.Duration { return time.Duration(h) * time.Hour }
			for i, x := range [][2]int{{24 + 2*shift, 37 + shift}, {49 - shift, 64}, {80 + shift, 95}, {104, 106 + shift}} {
				n.Bands = append(n.Bands, Band{Name: fmt.Sprint("coat-", i), Low: units.Fahrenheit(50), High: units.Fahrenheit(90), From: at(x[0]), To: at(x[1])})
			}
			s := jobSheet(t, &n)
			p := s.n.strips[0]
			for i, a := range p.areas {
				for _, b := range s.boxes {
					if !strings.HasPrefix(b.text, fmt.Sprintf("coat-%d:", i)) {
						continue
					}
					b.x0 -= s.size // its chip
					touches := func(a area) bool {
						return s.x(a.from) < b.x1 && s.x(a.to) > b.x0 && p.y(a.low) < b.y1 && p.y(a.high) > b.y0
					}
					from, to, leads := s.lead(p, a, b)
					if touches(a) == leads {
						t.Errorf("%v in, %d: %q stands at its band: %v; a line leads there: %v", width, shift, b.text, touches(a), leads)
					}
					if leads && (to.X < s.x(a.from) || to.X > s.x(a.to) || to.Y < p.y(a.low) || to.Y > p.y(a.high)) {
						t.Errorf("%v in, %d: the line of %q ends beside its band", width, shift, b.text)
					}
					for k, other := range p.areas {
						if k != i && touches(other) && !touches(a) {
							t.Errorf("%v in, %d: %q stands in the band of coat-%d", width, shift, b.text, k)
						}
					}
					way := box{"", min(from.X, to.X), min(from.Y, to.Y), max(from.X, to.X) + 0.1, max(from.Y, to.Y) + 0.1}
					for _, o := range s.boxes {
						if leads && o.text != b.text && way.overlaps(o) {
							t.Errorf("%v in, %d: the line of %q runs through %q", width, shift, b.text, o.text)
						}
					}
				}
			}
		}
	}
}

// A text as wide as the room for it is not cut (no source).
func TestShortenWhole(t *testing.T) {
	n := weekJob(units.SI)
	s := jobSheet(t, &n)
	f := face{size: 0.95 * s.size}
	for i := range 400 {
		text := strings.Repeat("seal ", 1+i%7) + "back-roll"
		w := s.width(f, text)
		x := s.right - w // and back again, which rounds
		if got := s.shorten(f, text, s.right-x); got != text {
			t.Fatalf("%q is cut to %q", text, got)
		}
		s.right += 0.37
	}
}

// A text at another band, or beyond one, costs more than one at its own (no source).
func TestAstray(t *testing.T) {
	n := weekJob(units.US)
	n.Bands = []Band{{Name: "a", Low: units.Fahrenheit(50), From: 20 * time.Hour, To: 30 * time.Hour}, {Name: "b", Low: units.Fahrenheit(50), From: 60 * time.Hour, To: 70 * time.Hour}}
	s := jobSheet(t, &n)
	p := s.n.strips[0]
	at := func(h float64) box { return box{"", s.x(h), p.y(45), s.x(h) + 2*s.size, p.y(45) + s.size} }
	for _, tc := range []struct {
		hour   float64
		astray bool
	}{{22, false}, {10, false}, {40, false}, {62, true}, {80, true}} {
		if cost := s.astray(p, 0, at(tc.hour)); (cost > 0) != tc.astray {
			t.Errorf("the text of a at hour %v costs %v more", tc.hour, cost)
		}
	}
	if from, to, ok := s.lead(p, p.areas[0], at(40)); !ok || from.X != s.x(40) || to.X != s.x(30) || to.Y < p.y(50) {
		t.Errorf("from hour 40 a line leads from %v to %v, %v", from, to, ok)
	}
}
