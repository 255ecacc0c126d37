package systems

import (
	"bytes"
	"context"
	"testing"
)

// The standing answer costs about as much as two and a half forecasts of the space; common
// practice, no source. Compare the lines of one run.
func BenchmarkStanding(b *testing.B) {
	c := builtin(b)
	j, err := ReadJob(bytes.NewReader(DemoJob()), c)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("plan", func(b *testing.B) {
		for b.Loop() {
			if _, err := Plan(context.Background(), j); err != nil {
				b.Fatal(err)
			}
		}
	})
	p, err := run(context.Background(), &j, nil)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("standing", func(b *testing.B) {
		for b.Loop() {
			if err := p.standing(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("forecast", func(b *testing.B) {
		for b.Loop() {
			if _, err := j.Site.Room.Forecast(j.Site.Outdoors, j.Site.Span, roomStep); err != nil {
				b.Fatal(err)
			}
		}
	})
}
