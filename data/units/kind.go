package units

import (
	"math"
	"strconv"
	"strings"
)

// A symbol is one way to write a unit: value in SI = number * 10^exp * factor.
// Powers of ten are shifted in the decimal text before it becomes a float64,
// so that "0.254 mm" is the float64 nearest to 0.000254 and metric text
// round-trips exactly.
type symbol struct {
	name   string
	exp    int
	factor float64
	also   string // other spellings, separated by blanks ("_" stands for a blank inside one)
}

// A scale says how to show a value to a person: in symbol name when its size
// is at least from (in SI), with digits significant digits.
type scale struct {
	from   float64
	name   string
	digits int
}

// A kind is one quantity: its name, its symbols (the first is SI with factor
// 1), the symbols String prefers, and the scales for people.
type kind struct {
	name    string
	symbols []symbol
	si, us  []scale // descending by from; the last is used for anything smaller
}

// find returns the symbol spelled s, exactly.
func (k *kind) find(s string) (symbol, bool) {
	for _, y := range k.symbols {
		if y.name == s {
			return y, true
		}
		for rest := y.also; rest != ""; {
			var one string
			one, rest, _ = strings.Cut(rest, " ")
			if one == s || strings.ReplaceAll(one, "_", " ") == s {
				return y, true
			}
		}
	}
	return symbol{}, false
}

// list names the symbols allowed, for error messages.
func (k *kind) list() string {
	names := make([]string, len(k.symbols))
	for i, y := range k.symbols {
		names[i] = y.name
	}
	return strings.Join(names, ", ")
}

// shift writes the shortest decimal of v times 10^exp, exactly.
func shift(v float64, exp int) string {
	text := strconv.FormatFloat(v, 'e', -1, 64) // d.ddde±xx
	mant, e, ok := strings.Cut(text, "e")
	if !ok {
		return text // NaN, ±Inf
	}
	x, _ := strconv.Atoi(e)
	x += exp
	neg := strings.HasPrefix(mant, "-")
	digits := strings.ReplaceAll(strings.TrimPrefix(mant, "-"), ".", "")
	var b strings.Builder
	if neg {
		b.WriteByte('-')
	}
	switch n := len(digits); {
	case v == 0:
		b.WriteByte('0')
	case x < -7 || x > 20: // too long to write out
		b.WriteString(digits[:1])
		if n > 1 {
			b.WriteByte('.')
			b.WriteString(digits[1:])
		}
		b.WriteByte('e')
		b.WriteString(strconv.Itoa(x))
	case x < 0:
		b.WriteString("0.")
		b.WriteString(strings.Repeat("0", -x-1))
		b.WriteString(digits)
	case x+1 >= n:
		b.WriteString(digits)
		b.WriteString(strings.Repeat("0", x+1-n))
	default:
		b.WriteString(digits[:x+1])
		b.WriteByte('.')
		b.WriteString(digits[x+1:])
	}
	return b.String()
}

// text writes v, in SI, so that parse gives back the same float64: in the
// largest decimal SI scale that keeps at least one digit before the point.
func (k *kind) text(v float64) string {
	best := k.symbols[0]
	for _, s := range k.si {
		y, ok := k.find(s.name)
		if ok && y.factor == 1 {
			best = y
			if math.Abs(v) >= s.from {
				break
			}
		}
	}
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		best = k.symbols[0]
	}
	return shift(v, -best.exp) + " " + best.name
}

func (k *kind) marshal(v float64) ([]byte, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, &ParseError{Kind: k.name, Text: k.text(v), Reason: "not a finite number", Allowed: k.list()}
	}
	return []byte(k.text(v)), nil
}
