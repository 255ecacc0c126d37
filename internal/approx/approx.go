// Package approx compares named float64 quantities in tests;
// cmpopts.EquateApprox does not see named float types.
package approx

import (
	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/floats/scalar"
)

// Quantity treats two values of T as equal within abs or rel.
func Quantity[T ~float64](abs, rel float64) cmp.Option {
	return cmp.Comparer(func(a, b T) bool { return scalar.EqualWithinAbsOrRel(float64(a), float64(b), abs, rel) })
}
