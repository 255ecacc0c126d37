package units

import (
	"regexp"
	"strings"
)

// Pattern returns a regular expression, of the syntax that JSON Schema and
// package regexp share, for the texts of q's kind: a number and one of its
// symbols; of a duration one or more numbers with their units. It knows the form
// only: a number too large for a float64 matches and is refused when read.
func Pattern(q Quantity) string {
	const blank = "[" + blanks + "]*"
	const number = `([0-9]+\.?[0-9]*|\.[0-9]+)`
	k, _ := q.quantity()
	if k == &durations {
		var from []string // the largest unit first, each once, at least one
		names := []string{"w", "d", "h", "min|m", "s", "ms", "us|µs", "ns"}
		for i := range names {
			var all strings.Builder
			for k, name := range names[i:] {
				part := number + blank + "(" + name + ")" + blank
				if k > 0 {
					part = "(" + part + ")?"
				}
				all.WriteString(part)
			}
			from = append(from, all.String())
		}
		return "^" + blank + "(" + strings.Join(from, "|") + ")$"
	}
	var symbols []string
	for _, s := range k.symbols {
		name := regexp.QuoteMeta(s.name)
		if c := s.name[0]; c >= '0' && c <= '9' { // "0.5 1/h"
			name = "[" + blanks + "]" + name
		}
		symbols = append(symbols, name)
		for _, also := range strings.Fields(s.also) {
			symbols = append(symbols, regexp.QuoteMeta(also))
			if strings.Contains(also, "_") {
				symbols = append(symbols, regexp.QuoteMeta(strings.ReplaceAll(also, "_", " ")))
			}
		}
	}
	return "^" + blank + "[+\u2212-]?" + number + "([eE][+-]?[0-9]+)?" + blank + "(" + strings.Join(symbols, "|") + ")" + blank + "$"
}
