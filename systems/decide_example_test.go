package systems_test

import (
	"bytes"
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// The demo floor in five days: which materials, held back until when, with which
// of the heat that may be had. The job is the library's own; common practice, no
// source.
func ExampleDecide() {
	catalog, err := systems.Builtin()
	if err != nil {
		fmt.Println(err)
		return
	}
	job, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), catalog)
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := systems.Decide(context.Background(), job, job.Goal)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range d.Coats {
		fmt.Println(c.Start.Format("Mon 15:04"), c.Step, c.Option)
	}
	fmt.Println("over", d.Score.HandOver.Format("Mon 15:04"), "stops", d.Score.Stops)
	fmt.Println("searched", d.Searched, "optimal", d.Optimal, "weighed", len(d.Weighed))
	for _, r := range d.Relaxations {
		fmt.Println("or", r.Text)
	}
	// Output:
	// Thu 07:00 prime epoxy
	// Fri 07:00 body polyaspartic
	// Fri 15:04 grout cold
	// Sat 07:00 seal own
	// over Sat 16:10 stops 1
	// searched true optimal true weighed 8
	// or a shift until 19:00
	// or a shift on Sunday
	// or 4 hands instead of 3
}

// The demo: three chemistries for three of its coats and two for the last,
// hourly starts, four ways to heat. Days beside each other show that the cost
// does not grow faster than they do; wanted for five days at most 2 s.
func BenchmarkDecide(b *testing.B) {
	for _, days := range []int{2, 5, 10, 20} {
		b.Run(fmt.Sprintf("%dd", days), func(b *testing.B) {
			j := job(b, string(systems.DemoJob()))
			g := j.Goal
			g.Horizon, g.NoRelax = time.Duration(days)*24*time.Hour, true
			var d *systems.Decision
			for b.Loop() {
				var err error
				if d, err = systems.Decide(context.Background(), j, g); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(d.States), "states")
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)/float64(days), "ms/day")
		})
	}
	b.Run("5d-relaxed", func(b *testing.B) { // with what to relax, for no plan is without a Stop
		j := job(b, string(systems.DemoJob()))
		for b.Loop() {
			if _, err := systems.Decide(context.Background(), j, j.Goal); err != nil {
				b.Fatal(err)
			}
		}
	})
}
