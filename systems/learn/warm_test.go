package learn

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
)

// since is a log that begins at an hour.
func since(tr climate.Trace, h float64) (out climate.Trace) {
	begin := time.Duration(h * float64(time.Hour))
	for _, x := range tr {
		if x.At >= begin {
			x.At -= begin
			out = append(out, x)
		}
	}
	return out
}

// Loggers that are put down while the slab is being heated: the course of
// temperature below the surface is not steady then, and nobody read it. Film and
// ground are in their intervals all the same, and good readings are not flagged. Of
// 160 draws at 90 % the count scatters by 3.8 (binomial): three of those less is what
// is asked for. Source: the explicit scheme of truth.run.
func TestSlabStartsWarm(t *testing.T) {
	runs := 160
	if testing.Short() {
		runs = 40
	}
	w := truth{8, 281, 1.4, 279, heated}
	surface, _ := w.run(96, 0.1)
	var held [2]int
	alarms := 0
	for seed := range runs {
		h := []float64{6, 8, 12, 26}[seed%4]
		r := rand.New(rand.NewPCG(uint64(seed), 5))
		got, err := Slab{Slab: testSlab(281), Air: []Logger{{"air", since(airLog(heated, 96, 30), h)}}, Surface: []Logger{{"slab", since(logged(surface, 60, 0.2, r), h)}}}.Learn()
		if err != nil {
			t.Fatal(err)
		}
		for k, key := range []string{"room.slab.film", "room.slab.deep"} {
			_, lo, hi := si(figure(t, got, key))
			if want := []float64{w.film, w.deep}[k]; lo <= want && want <= hi {
				held[k]++
			}
		}
		if len(got.Flags) > 0 {
			alarms++
			t.Logf("from %g h: %v", h, got.Flags)
		}
	}
	n := float64(runs)
	t.Logf("film and ground are held in %d and %d of %d; %d false alarms", held[0], held[1], runs, alarms)
	for k, name := range []string{"film", "ground"} {
		if float64(held[k]) < 0.9*n-3*math.Sqrt(0.9*0.1*n) {
			t.Errorf("%s: the 95 %% interval holds in %d of %d", name, held[k], runs)
		}
	}
	if alarms > runs/50 {
		t.Errorf("%d of %d good logs are flagged", alarms, runs)
	}
}

// A log of every other minute: the jump of one of three loggers is found to a quarter
// of an hour, in a search that does not go through every reading. Source: the explicit
// scheme of truth.run.
func TestLongLog(t *testing.T) {
	w := truth{8, 281, 1.4, 279, heated}
	surface, _ := w.run(96, 0.1)
	r := rand.New(rand.NewPCG(5, 6))
	in := Slab{Slab: testSlab(281), Air: []Logger{{"air", airLog(heated, 96, 2)}}}
	for _, name := range []string{"a", "b", "c"} {
		in.Surface = append(in.Surface, Logger{name, logged(surface, 2, 0.2, r)})
	}
	const when = 61*time.Hour + 34*time.Minute
	for i, x := range in.Surface[1].Trace {
		if x.At >= when {
			in.Surface[1].Trace[i].Temp = x.Temp.Add(3)
		}
	}
	got, err := in.Learn()
	if err != nil || len(got.Flags) == 0 || got.Flags[0].Reading != "b" || got.Flags[0].Wrong != Jump || (got.Flags[0].From-when).Abs() > 15*time.Minute {
		t.Errorf("%+v, %v", got.Flags, err)
	}
}

func BenchmarkLongLog(b *testing.B) {
	w := truth{8, 281, 1.4, 279, heated}
	surface, _ := w.run(96, 0.1)
	r := rand.New(rand.NewPCG(5, 6))
	in := Slab{Slab: testSlab(281), Air: []Logger{{"air", airLog(heated, 96, 1)}}}
	for _, name := range []string{"a", "b", "c"} {
		in.Surface = append(in.Surface, Logger{name, logged(surface, 1, 0.2, r)})
	}
	for b.Loop() {
		if _, err := in.Learn(); err != nil {
			b.Fatal(err)
		}
	}
}
