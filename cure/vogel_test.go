package cure

import (
	"errors"
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// MGH10 (Meyer) of NIST's Statistical Reference Datasets, y = b1 exp(b2/(x + b3)),
// with x taken for °C and y for seconds: certified values as in cure-notes.md
// section 5, where they are "seen". b3 is 273.15 K less Offset.
var (
	mgh10    = []float64{34780, 28610, 23650, 19630, 16370, 13720, 11540, 9744, 8261, 7030, 6005, 5147, 4427, 3820, 3307, 2872}
	mgh10Cer = []struct{ value, stdErr float64 }{
		{5.6096364710e-03, 1.5687892471e-04}, {6.1813463463e+03, 2.3309021107e+01}, {3.4522363462e+02, 7.8486103508e-01}}
)

const mgh10RSS, mgh10Scatter = 8.7945855171e+01, 2.6009740065e+00

func TestFitVogelNIST(t *testing.T) {
	var rows []Point
	var even []time.Duration
	for i, y := range mgh10 {
		rows = append(rows, Point{units.Celsius(50 + 5*float64(i)), time.Duration(y) * time.Second})
		even = append(even, time.Second) // every row off by the same seconds, as NIST has it
	}
	v, err := FitVogel(rows, even)
	if err != nil {
		t.Fatal(err)
	}
	b1 := math.Exp(math.Log(v.Time.Seconds()) - float64(v.B)/(v.Ref.Kelvin()-float64(v.Offset)))
	for _, c := range []struct {
		name      string
		got, want float64
		tol       float64
	}{
		{"b1", b1, mgh10Cer[0].value, 1e-7},
		{"b2", float64(v.B), mgh10Cer[1].value, 1e-8},
		{"b3", 273.15 - float64(v.Offset), mgh10Cer[2].value, 1e-8},
		{"standard error of b2", float64(v.BStdErr), mgh10Cer[1].stdErr, 1e-7},
		{"standard error of b3", float64(v.OffsetStdErr), mgh10Cer[2].stdErr, 1e-7},
		{"standard deviation about the law", v.Scatter, mgh10Scatter, 1e-8},
	} {
		if !(math.Abs(c.got/c.want-1) < c.tol) {
			t.Errorf("%s = %.11g, want %.11g ± %g", c.name, c.got, c.want, c.tol)
		}
	}
	if v.DF != 13 || len(v.Residuals) != 16 {
		t.Errorf("%d degrees of freedom, %d residuals; want 13, 16", v.DF, len(v.Residuals))
	}
	// Along a history it is its own time where that is held.
	at, err := Reach(v.Law(), climate.Trace{{Temp: units.Celsius(80)}}, 0)
	if err != nil || math.Abs(at.Seconds()-11540) > 5 {
		t.Errorf("%v, %v; want 11540 s, within twice the scatter", at, err)
	}
}

// The same from both of NIST's starts, far off as they are, to the certified values
// and all three standard errors: 1e-7, of ten digits printed.
func TestVogelFitNISTStarts(t *testing.T) {
	f := vogelFit{lo: -1e5, hi: 273.15 + 49, ref: 273.15 + 87.5}
	for i, y := range mgh10 {
		f.x, f.y, f.s = append(f.x, 273.15+50+5*float64(i)), append(f.y, y), append(f.s, 1)
	}
	for _, start := range [][3]float64{{2, 400000, 25000}, {0.02, 4000, 250}} {
		off := 273.15 - start[2]
		p, err := f.refine([3]float64{math.Log(start[0]) + start[1]/(f.ref-off), start[1], off})
		if err != nil {
			t.Errorf("from %v: %v", start, err)
			continue
		}
		cov, scatter, err := f.covariance(p)
		if err != nil {
			t.Fatal(err)
		}
		_, rss := f.residuals(p)
		// b1 = exp(p0 - p1/(ref - p2)): its error by its slopes.
		d := f.ref - p[2]
		b1 := math.Exp(p[0] - p[1]/d)
		g := mat.NewVecDense(3, []float64{b1, -b1 / d, -b1 * p[1] / (d * d)})
		got := [][2]float64{{b1, math.Sqrt(mat.Inner(g, cov, g))}, {p[1], math.Sqrt(cov.At(1, 1))}, {273.15 - p[2], math.Sqrt(cov.At(2, 2))}}
		for i, c := range mgh10Cer {
			if !(math.Abs(got[i][0]/c.value-1) < 1e-7 && math.Abs(got[i][1]/c.stdErr-1) < 1e-7) {
				t.Errorf("from %v: b%d = %.11g (%.11g), want %.11g (%.11g)", start, i+1, got[i][0], got[i][1], c.value, c.stdErr)
			}
		}
		if math.Abs(rss/mgh10RSS-1) > 1e-9 || math.Abs(scatter/mgh10Scatter-1) > 1e-9 {
			t.Errorf("from %v: residual sum %.11g, scatter %.11g; want %.11g, %.11g", start, rss, scatter, mgh10RSS, mgh10Scatter)
		}
	}
}

// Rows of a known law give it back, and in any order; its doubts are Fit's, that
// ln t bends. Common practice, no source.
func TestFitVogelGivesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		off := rapid.Float64Range(-100, 220).Draw(t, "Offset")
		b := rapid.Float64Range(0.3, 4).Draw(t, "ln t from 5 °C to 20 °C") / (1/(278.15-off) - 1/(293.15-off))
		var rows []Point
		for _, c := range []float64{20, 5, 10, 35, 15, 28} {
			k := 273.15 + c
			rows = append(rows, Point{units.Celsius(c), duration(6 * 3600 * math.Exp(b*(1/(k-off)-1/(293.15-off))))})
		}
		v, err := FitVogel(rows, nil)
		if err != nil || math.Abs(float64(v.B)/b-1) > 1e-4 || math.Abs(float64(v.Offset)-off) > 1e-2 || v.Scatter > 1e-9 {
			t.Fatalf("%+v, %v; want B %v, Offset %v", v, err, b, off)
		}
		for i, p := range rows {
			d, err := v.Law().Time(p.Temp)
			if err != nil || math.Abs(float64(d)/float64(p.Time)-1) > 1e-8 || math.Abs(v.Residuals[i]) > 1e-8 {
				t.Fatalf("%v at %v, %v; want %v", d, p.Temp, err, p.Time)
			}
		}
	})
}

func TestFitVogelErrors(t *testing.T) {
	c := units.Celsius
	good := []Point{{c(5), 40 * time.Hour}, {c(10), 20 * time.Hour}, {c(20), 7 * time.Hour}, {c(30), 3 * time.Hour}}
	v, err := FitVogel(good, nil)
	if err != nil || v.DF != 1 {
		t.Fatalf("%+v, %v", v, err)
	}
	if three, err := FitVogel(good[:3], nil); err != nil || three.DF != 0 || three.BStdErr != 0 {
		t.Errorf("%+v, %v; want a law through three rows", three, err)
	}
	even := []Point{{c(5), 7 * time.Hour}, {c(10), 7 * time.Hour}, {c(20), 7 * time.Hour}, {c(30), 7 * time.Hour}}
	rising := []Point{{c(5), 7 * time.Hour}, {c(10), 8 * time.Hour}, {c(20), 9 * time.Hour}, {c(30), 11 * time.Hour}}
	for name, tc := range map[string]struct {
		rows []Point
		errs []time.Duration
	}{
		"two temperatures": {good[:2], nil}, "none": {nil, nil}, "errs short": {good, []time.Duration{1}}, "an error of 0": {good, []time.Duration{1, 1, 1, 0}},
		"no time": {append([]Point{{c(0), 0}}, good...), nil}, "no temperature": {append([]Point{{Time: time.Hour}}, good...), nil}, "even": {even, nil}, "rising": {rising, nil},
	} {
		if got, err := FitVogel(tc.rows, tc.errs); !errors.Is(err, units.ErrRange) || got.Time != 0 {
			t.Errorf("%s: %+v, %v; want a range error", name, got, err)
		}
	}
	for name, law := range map[string]Law{"zero": Vogel{}.Law(), "outside": v.Law()} {
		if d, err := law.Time(c(35)); d != 0 || !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v, %v; want a range error", name, d, err)
		}
	}
}
