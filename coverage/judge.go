package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Rule says what thickness readings must satisfy. The rules named here were
// written for coatings on metal: floors borrow the arithmetic, not the
// authority. A job's papers decide; the fields may be set as they say.
//
// The target of [Judge] is the least film asked for, of which Low, Below and
// Mean are shares. Most is the top of the range that was asked for, of which
// High is a share. The zero Rule asks every reading to be at the target.
type Rule struct {
	Name string // for people: "spot averages, level 3"

	PerSpot int            // readings averaged to a spot, one after another; 0 and 1: a reading is a spot
	Low     units.Fraction // no spot below this share of the target
	High    units.Fraction // no spot above this share of Most; 0: no bound
	Mean    units.Fraction // the mean at least this share of the target
	Most    units.Length   // top of the range; the mean is not above it. Zero: no bound
	Below   units.Fraction // at most this share of the spots below the target
	Fewer   bool           // fewer than Below instead of at most
}

// SpotLevel returns a rule of spot averages: each spot, of three readings, at
// least and at most a share of the range from the target to most; and the mean
// of the area within the range. The levels ask less and less: 1 for 100/100 %,
// 2 for 100/120 %, 3 for 80/120 %, the usual one, 4 for 80/150 %, 5 for 80 %
// and no upper bound.
//
// Source: SSPC-PA 2 (2012-2018) table 1; level 3 read in training slides, the
// others from memory. Written for metal: floors borrow the arithmetic, not the
// authority.
func SpotLevel(level int, most units.Length) (Rule, error) {
	const fn = "coverage.SpotLevel"
	if level < 1 || level > 5 {
		return Rule{}, &units.RangeError{Func: fn, Arg: "level", Got: float64(level), Lo: 1, Hi: 5, Unit: "of five"}
	}
	if err := aboveZero(fn, "most", float64(most), mils(most), thickest, "mil"); err != nil {
		return Rule{}, err
	}
	low := [...]units.Fraction{1, 1, 0.8, 0.8, 0.8}[level-1]
	high := [...]units.Fraction{1, 1.2, 1.2, 1.5, 0}[level-1]
	if level == 5 {
		most = 0
	}
	return Rule{Name: fmt.Sprintf("spot averages, level %d", level), PerSpot: 3, Low: low, High: high, Mean: 1, Most: most, Below: 1}, nil
}

// EightyTwenty is a rule of single readings: the mean at least the target, none
// below 80 % of it, and fewer than 20 % of them between 80 % and the target.
// Set High and Most for an upper bound; the standard asks for none above a
// maximum that the coating's maker names.
//
// Source: ISO 19840:2012 clause 8, from memory; "fewer than" is to be checked
// against a licensed copy. Written for metal: floors borrow the arithmetic, not
// the authority.
func EightyTwenty() Rule {
	return Rule{Name: "80/20", Low: 0.8, Mean: 1, Below: 0.2, Fewer: true}
}

// EightyOfNominal is a rule of single readings: the mean at least the target
// and none below 80 % of it, however many are below the target.
//
// Source: common practice, no source. Floors borrow the arithmetic of
// standards for metal, not their authority.
func EightyOfNominal() Rule {
	return Rule{Name: "80 % of nominal", Low: 0.8, Mean: 1, Below: 1}
}

// NinetyTen is a rule of single readings: at least 90 % of them at the target
// or above, the rest at least 90 % of it.
//
// Source: IMO MSC.215(82) table 1 item 1.4, from memory. Written for ships'
// tanks: floors borrow the arithmetic, not the authority.
func NinetyTen() Rule {
	return Rule{Name: "90/10", Low: 0.9, Below: 0.1}
}

// A Clause is a part of a rule that readings can break.
type Clause string

// The clauses of a rule.
const (
	SpotTooThin  Clause = "spot-too-thin"  // the thinnest spot against Low
	SpotTooThick Clause = "spot-too-thick" // the thickest spot against High
	MeanTooThin  Clause = "mean-too-thin"  // the mean against Mean
	MeanTooThick Clause = "mean-too-thick" // the mean against Most
	TooManyBelow Clause = "too-many-below" // the count of spots below the target
)

// A Breach is a clause that the readings break, with what they came to and its
// limit: shares of the spots for [TooManyBelow], films for the others.
type Breach struct {
	Clause            Clause
	Film, Limit       units.Length
	Share, ShareLimit units.Fraction
}

// A Verdict is what readings come to under a rule.
type Verdict struct {
	Pass              bool
	Spots             int            // spots judged: readings over PerSpot
	Mean, Least, Most units.Length   // of the spots
	Below             units.Fraction // share of the spots below the target
	Breaches          []Breach       // in the order of the clauses; nil if it passes
}

// Judge says whether readings of a film satisfy a rule. target is the least
// film asked for. Bounds give way by a billionth, so that 6.4 mil is 80 % of
// 8 mil. A rule that was written for metal has no authority over a floor:
// what a floor's papers ask for is the rule's fields.
//
// Range: target above 0 to 1 m; readings 0 to 1 m, at least one and a whole
// number of spots; shares of the rule 0 to 100 % for Below, 0 to 10 for the
// others; Most 0 or from target to 1 m, with High needing it.
// Accuracy: exact arithmetic. Source: each rule's own.
func Judge(readings []units.Length, target units.Length, rule Rule) (Verdict, error) {
	const fn = "coverage.Judge"
	nan := units.Length(math.NaN())
	bad := Verdict{Mean: nan, Least: nan, Most: nan, Below: units.Fraction(math.NaN())}
	err := errors.Join(aboveZero(fn, "target", float64(target), mils(target), thickest, "mil"), rule.check(fn, target))
	per := max(rule.PerSpot, 1)
	if n := len(readings); n == 0 || n%per != 0 {
		err = errors.Join(err, fmt.Errorf("%s: %d readings: want at least one spot of %d, and no spot left unfinished: %w", fn, n, per, units.ErrRange))
	}
	if err = errors.Join(err, readable(fn, readings)); err != nil {
		return bad, err
	}
	const slack = 1e-9
	v := Verdict{Spots: len(readings) / per, Least: units.Length(math.Inf(1))}
	below := 0
	for i := 0; i < len(readings); i += per {
		var spot units.Length
		for _, r := range readings[i : i+per] {
			spot += r / units.Length(per)
		}
		v.Mean += spot / units.Length(v.Spots)
		v.Least, v.Most = min(v.Least, spot), max(v.Most, spot)
		if spot < target*(1-slack) {
			below++
		}
	}
	v.Below = units.Fraction(below) / units.Fraction(v.Spots)
	breach := func(broken bool, c Clause, film, limit units.Length) {
		if broken {
			v.Breaches = append(v.Breaches, Breach{Clause: c, Film: film, Limit: limit})
		}
	}
	low, high, mean := target*units.Length(rule.Low), rule.Most*units.Length(rule.High), target*units.Length(rule.Mean)
	breach(v.Least < low*(1-slack), SpotTooThin, v.Least, low)
	breach(rule.High > 0 && v.Most > high*(1+slack), SpotTooThick, v.Most, high)
	breach(v.Mean < mean*(1-slack), MeanTooThin, v.Mean, mean)
	breach(rule.Most > 0 && v.Mean > rule.Most*(1+slack), MeanTooThick, v.Mean, rule.Most)
	many := v.Below > rule.Below+slack
	if rule.Fewer {
		many = below > 0 && v.Below > rule.Below-slack
	}
	if many {
		v.Breaches = append(v.Breaches, Breach{Clause: TooManyBelow, Share: v.Below, ShareLimit: rule.Below})
	}
	v.Pass = len(v.Breaches) == 0
	return v, nil
}

func (r Rule) check(fn string, target units.Length) error {
	err := errors.Join(units.FromZero(fn, "rule.PerSpot", float64(r.PerSpot), 1000, "readings"), units.FromZero(fn, "rule.Low", float64(r.Low), 10, "of the target"),
		units.FromZero(fn, "rule.High", float64(r.High), 10, "of Most"), units.FromZero(fn, "rule.Mean", float64(r.Mean), 10, "of the target"),
		units.FromZero(fn, "rule.Below", percent(r.Below), 100, "%"))
	if r.Most != 0 {
		err = errors.Join(err, units.InRange(fn, "rule.Most", mils(r.Most), mils(target), thickest, "mil"))
	} else if r.High > 0 {
		err = errors.Join(err, &units.RangeError{Func: fn, Arg: "rule.Most", Got: 0, Lo: mils(target), Hi: thickest, Unit: "mil"})
	}
	if err == nil && r.Low == 0 && r.High == 0 && r.Mean == 0 && r.Most == 0 && r.Below == 1 && !r.Fewer {
		return fmt.Errorf("%s: rule asks for nothing: want at least one bound: %w", fn, units.ErrRange)
	}
	return err
}

// readable refuses readings that are no thicknesses, naming the first.
func readable(fn string, readings []units.Length) error {
	for i, r := range readings {
		if units.FromZero(fn, "reading", mils(r), thickest, "mil") != nil { // the number only for the error: no allocation when all is good
			return units.FromZero(fn, fmt.Sprintf("reading %d", i+1), mils(r), thickest, "mil")
		}
	}
	return nil
}
