package confidence_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/tackfree/tackfree/systems/confidence"
)

// The demo job's order. What is promised: 10 000 draws in at most 100 ms on one
// core, linear in draws, two cores at least 1.8 times as quick. Our own goal, no
// source.
func BenchmarkOf(b *testing.B) {
	o := demo()
	for _, draws := range []int{1000, 10000, 100000} {
		for _, workers := range []int{1, 2} {
			b.Run(fmt.Sprintf("draws=%d/workers=%d", draws, workers), func(b *testing.B) {
				for b.Loop() {
					if _, err := confidence.Of(context.Background(), o, confidence.Options{Draws: draws, Workers: workers}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
