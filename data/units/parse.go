package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A ParseError says why a text is not a quantity of the kind wanted, and
// which symbols are.
type ParseError struct {
	Kind    string // "length"
	Text    string // the text as given
	Reason  string // "a number alone"
	Allowed string // the symbols of the kind, separated by ", "
}

// Unwrap returns [ErrParse].
func (e *ParseError) Unwrap() error { return ErrParse }

// Error names the text, what is wrong with it and what is allowed.
func (e *ParseError) Error() string {
	article := "a"
	if e.Kind != "" && strings.IndexByte("aeiou", e.Kind[0]) >= 0 {
		article = "an"
	}
	return fmt.Sprintf("%q is not %s %s: %s; want a number and one of: %s", e.Text, article, e.Kind, e.Reason, e.Allowed)
}

// ambiguous holds symbols that people write and that mean different things to
// different people, each with what to write instead.
func ambiguous(s string) string {
	switch strings.ToLower(s) {
	case "oz":
		return "oz may be a mass or a volume: write lb, g, fl oz or mL"
	case "ton", "tons":
		return "a ton may be short, long or metric: write lb, kg or t"
	case "gallon", "gallons", "gallon(imp)", "imp gal", "us gal", "uk gal":
		return "the gallon here is the US liquid one and is written gal"
	case "mm hg", "in hg":
		return "write mmHg or inHg"
	case "mbtu", "mbtu/h", "mbh":
		return "MBtu may be a thousand or a million: write Btu or MMBtu"
	case "thou", "mils":
		return "a thousandth of an inch is written mil"
	case "f", "c", "deg", "degrees":
		return "temperatures are written °F or degF, °C or degC, K"
	case "sf", "sqft", "sq ft", "sq. ft.", "sq. ft":
		return "square feet are written ft2"
	case "psf":
		return "write lb/ft2"
	case "micron", "microns", "mu":
		return "a micrometre is written um"
	}
	return ""
}

// scan splits text into a decimal number (mantissa and exponent) and the rest.
// It knows digits, one point, a sign and an exponent; nothing else is a number.
func scan(text string) (mant string, exp int, rest string, ok bool) {
	i, n := 0, len(text)
	if i < n && (text[i] == '+' || text[i] == '-') {
		i++
	}
	digits, point := 0, false
	for ; i < n; i++ {
		if c := text[i]; c >= '0' && c <= '9' {
			digits++
		} else if c == '.' && !point {
			point = true
		} else {
			break
		}
	}
	if digits == 0 {
		return "", 0, text, false
	}
	mant = text[:i]
	if i < n && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if j < n && (text[j] == '+' || text[j] == '-') {
			j++
		}
		k := j
		for k < n && text[k] >= '0' && text[k] <= '9' {
			k++
		}
		if k > j { // "1e3 m"; "1 eV" keeps its e
			e, err := strconv.Atoi(text[i+1 : k])
			if err != nil || e > 1e6 || e < -1e6 { // beyond any float64, as ParseFloat will tell
				if e = 1e6; text[i+1] == '-' {
					e = -1e6
				}
			}
			exp, i = e, k
		}
	}
	return mant, exp, text[i:], true
}

// blanks are what people and data sheets put between number and symbol.
const blanks = " \t\u00a0\u202f\u2009"

// split reads the number and the symbol of text; it returns a reason if it can't.
func split(text string) (mant string, exp int, sym, reason string) {
	s := strings.Trim(text, blanks)
	if s == "" {
		return "", 0, "", "empty"
	}
	s = strings.Replace(s, "\u2212", "-", 1) // the true minus sign of data sheets
	mant, exp, rest, ok := scan(s)
	if !ok {
		return "", 0, "", "it does not begin with a decimal number"
	}
	if rest != "" && (rest[0] == ',' || rest[0] == '_' || rest[0] == '\'') {
		return "", 0, "", "thousands separators and decimal commas are not read"
	}
	if rest != "" && rest[0] == '.' {
		return "", 0, "", "two points in one number"
	}
	sym = strings.Trim(rest, blanks)
	if sym == "" {
		return "", 0, "", "a number alone has no unit"
	}
	if sym[0] >= '0' && sym[0] <= '9' && !strings.HasPrefix(sym, "1/") { // "0.5 1/h" is a rate
		return "", 0, "", "two numbers"
	}
	return mant, exp, sym, ""
}

// resolve splits a text into a number as [split] does, and a symbol of k; or says
// why it cannot.
func (k *kind) resolve(text string) (mant string, exp int, y symbol, reason string) {
	mant, exp, sym, reason := split(text)
	if reason != "" {
		return "", 0, y, reason
	}
	y, ok := k.find(sym)
	if ok {
		return mant, exp, y, ""
	}
	if hint := ambiguous(sym); hint != "" {
		return "", 0, y, hint
	}
	if other := kindOf(sym); other != "" {
		return "", 0, y, fmt.Sprintf("%q is a unit of %s", sym, other)
	}
	return "", 0, y, fmt.Sprintf("unknown symbol %q", sym)
}

func (k *kind) parse(text string) (float64, error) {
	fail := func(reason string) (float64, error) {
		return math.NaN(), &ParseError{Kind: k.name, Text: text, Reason: reason, Allowed: k.list()}
	}
	mant, exp, y, reason := k.resolve(text)
	if reason != "" {
		return fail(reason)
	}
	v, err := strconv.ParseFloat(mant+"e"+strconv.Itoa(exp+y.exp), 64)
	if v *= y.factor; err != nil || math.IsInf(v, 0) {
		return fail("too large")
	}
	if v == 0 && strings.Trim(mant, "+-0.") != "" {
		return fail("too small")
	}
	return v, nil
}

// unmarshal stores the quantity written in b, and leaves q alone if there is none.
func unmarshal[Q ~float64](q *Q, k *kind, b []byte) error {
	v, err := k.parse(string(b))
	if err == nil {
		*q = Q(v)
	}
	return err
}

// kindOf names the quantity that sym belongs to, or returns "".
func kindOf(sym string) string {
	for _, k := range kinds() {
		if _, ok := k.find(sym); ok {
			return k.name
		}
	}
	if _, ok := degrees.find(sym); ok {
		return degrees.name
	}
	return ""
}

// Symbols lists the symbols in which quantities of q's kind may be written.
func Symbols(q Quantity) []string {
	k, _ := q.quantity()
	return strings.Split(k.list(), ", ")
}
