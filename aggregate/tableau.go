package aggregate

import (
	"math"
	"math/big"
)

// gridBits is the grid of a tableau's numbers: they are rounded to 2^-50,
// which is 9e-16.
const gridBits = 50

// A tableau is a linear programme, A x <= b with x >= 0, of which the last
// column is b, in whole numbers over one common denominator. A pivot divides
// without remainder, so nothing is rounded and the search ends.
//
// Source: J. Edmonds, systems of distinct representatives and linear algebra
// (1967), and J. Bareiss, Sylvester's identity and multistep integer-preserving
// Gaussian elimination (1968), for pivots in whole numbers; R. Bland, new finite
// pivoting rules for the simplex method (1977), for the choice that cannot go
// round. All from memory.
type tableau struct {
	cell  [][]*big.Int
	below *big.Int // the common denominator, above 0
	basic []int    // of each row, the variable it gives; from cols on the row's own slack
	free  []int    // of each column, the variable that is 0
}

// newTableau returns a tableau of zeros.
func newTableau(rows, cols int) *tableau {
	t := &tableau{cell: make([][]*big.Int, rows), below: big.NewInt(1), basic: make([]int, rows), free: make([]int, cols)}
	for r := range t.cell {
		t.cell[r] = make([]*big.Int, cols+1)
		for c := range t.cell[r] {
			t.cell[r][c] = new(big.Int)
		}
		t.basic[r] = cols + r
	}
	for c := range t.free {
		t.free[c] = c
	}
	return t
}

// set puts a number of at most 2 in size on the grid.
func (t *tableau) set(row, col int, v float64) {
	t.cell[row][col].SetInt64(int64(math.Round(math.Ldexp(v, gridBits))))
}

// least returns the x, each at least 0, with the least value of the variable
// goal. That is brought in at row first, which must make all rows feasible.
func (t *tableau) least(goal, first int) []float64 {
	t.pivot(first, goal)
	for {
		at := t.row(goal)
		if at < 0 {
			break // it is 0
		}
		in := -1 // Bland: the first variable that lowers the goal
		for c, v := range t.cell[at][:len(t.free)] {
			if v.Sign() > 0 && (in < 0 || t.free[c] < t.free[in]) {
				in = c
			}
		}
		if in < 0 {
			break
		}
		t.pivot(t.tightest(in), in)
	}
	x := make([]float64, len(t.free))
	for r, v := range t.basic {
		if v < len(x) {
			x[v], _ = new(big.Rat).SetFrac(t.cell[r][len(t.free)], t.below).Float64()
		}
	}
	return x
}

// row returns the row that gives a variable, -1 if none does.
func (t *tableau) row(variable int) int {
	for r, v := range t.basic {
		if v == variable {
			return r
		}
	}
	return -1
}

// tightest returns the row that ends the growth of a column's variable first,
// and of several that of the first variable.
func (t *tableau) tightest(col int) int {
	out, last := -1, len(t.free)
	var a, b big.Int
	for r, row := range t.cell {
		if row[col].Sign() <= 0 {
			continue
		}
		if out >= 0 {
			a.Mul(row[last], t.cell[out][col])
			b.Mul(t.cell[out][last], row[col])
			if c := a.Cmp(&b); c > 0 || c == 0 && t.basic[r] > t.basic[out] {
				continue
			}
		}
		out = r
	}
	return out
}

// pivot exchanges the variable of a row with that of a column.
func (t *tableau) pivot(row, col int) {
	by := new(big.Int).Set(t.cell[row][col])
	var product big.Int
	for r, cells := range t.cell {
		if r == row {
			continue
		}
		for c, v := range cells {
			if c != col {
				v.Mul(v, by)
				v.Quo(v.Sub(v, product.Mul(cells[col], t.cell[row][c])), t.below)
			}
		}
		cells[col].Neg(cells[col])
	}
	t.cell[row][col].Set(t.below)
	t.below = by
	t.basic[row], t.free[col] = t.free[col], t.basic[row]
	if by.Sign() > 0 {
		return
	}
	by.Neg(by)
	for _, cells := range t.cell {
		for _, v := range cells {
			v.Neg(v)
		}
	}
}
