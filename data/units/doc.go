// Package units holds the quantities everything in tackfree is written in.
//
// A linear quantity is a named float64 in SI, in the manner of
// [time.Duration]: 10*units.Mil is a [Length] of 0.000254 m. Its constants
// carry the type, so that a bare number is rarely what you meant. Arithmetic
// that changes dimension is a method (film.Over(area) is a [Volume]).
// [Temperature] is a struct, because adding two temperatures has no meaning;
// a difference of two is a [TempDelta].
//
// Every quantity reads and writes itself as text, so that TOML and JSON hold
// "10 mil", "50 °F" or "250 ft2/gal". The grammar is one for all: a decimal
// number, optional blanks, a symbol of that quantity (see [Symbols]). A bare
// number, an unknown symbol, NaN, a thousands separator or anything left over
// is a [*ParseError] that lists what is allowed.
//
// String and MarshalText write the shortest SI text that reads back as exactly
// the same value. For people, use [Format].
//
// Factors are those of NIST SP 811 (2008) and NIST Handbook 44 (2023),
// appendix C; US customary volumes are the US liquid ones (1 gal = 231 in3),
// the Btu is the International Table one. testdata/gnu-units.tsv compares all
// of them with GNU units.
package units
