package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// ruleNames are what -rule takes.
func ruleNames() []string { return []string{"80/20", "90/10", "nominal", "spots"} }

// named returns a rule; spots are of one reading here, on a range of 1.5 times
// the target.
func named(name string, target units.Length) (coverage.Rule, error) {
	switch name {
	case "80/20":
		return coverage.EightyTwenty(), nil
	case "90/10":
		return coverage.NinetyTen(), nil
	case "nominal":
		return coverage.EightyOfNominal(), nil
	case "spots":
		rule, err := coverage.SpotLevel(3, 1.5*target)
		rule.PerSpot = 1
		return rule, err
	}
	return coverage.Rule{}, fmt.Errorf("-rule: found %q: want %s", name, strings.Join(ruleNames(), ", "))
}

func (c *coat) sample(units.System) (string, error) {
	n, err := coverage.SpotSampling(c.area)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("measure %d areas, %d spots, %d readings (written for metal: floors borrow the arithmetic)\n", n.Areas, n.Spots, n.Readings), nil
}

func (c *coat) wet(s units.System) (string, error) {
	if c.comb == "" {
		return "", nil
	}
	teeth, err := lengths(c.comb)
	if err != nil {
		return "", err
	}
	if len(teeth) != 2 {
		return "", fmt.Errorf("-comb: found %q: want two teeth", c.comb)
	}
	comb := coverage.Comb{Touched: teeth[0], Clear: teeth[1]}
	want, err := coverage.WetFilm(c.dry, c.solids, c.thinner)
	if err != nil {
		return "", err
	}
	has, err := comb.Has(want)
	if err != nil {
		return "", err
	}
	low, high, err := comb.Dry(c.solids, c.thinner)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("comb %s: %s for %s wet; it dries to %s to %s\n", c.comb, has, units.Format(want, s), units.Format(low, s), units.Format(high, s)), nil
}

func (c *coat) judge(s units.System) (string, error) {
	if c.readings == "" {
		return "", nil
	}
	readings, err := lengths(c.readings)
	if err != nil {
		return "", err
	}
	rule, err := named(c.rule, c.dry)
	if err != nil {
		return "", err
	}
	v, err := coverage.Judge(readings, c.dry, rule)
	if err != nil {
		return "", err
	}
	word := "pass"
	if !v.Pass {
		word = "fail"
		for _, b := range v.Breaches {
			word += " " + string(b.Clause)
		}
	}
	return fmt.Sprintf("%d readings by %s: %s; mean %s, least %s, %s below %s\n", len(readings), rule.Name, word, units.Format(v.Mean, s),
		units.Format(v.Least, s), units.Format(v.Below, s), units.Format(c.dry, s)), nil
}

func (c *coat) crew(s units.System) (string, error) {
	readings, err := lengths(c.readings)
	if err != nil || len(readings) < 2 {
		return "", err
	}
	crew, err := coverage.Capability(readings, c.dry)
	if err != nil {
		return "", err
	}
	aim, err := coverage.AimFor(c.dry, crew.Relative, 10*units.Percent)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("the crew scatters by %s; %s of its floor is expected below; aim for %s to have 10 %% below\n",
		units.Format(crew.Scatter, s), units.Format(crew.Expected, s), units.Format(aim, s)), nil
}

// list splits a text at its commas.
func list(text string) []string {
	parts := strings.Split(text, ",")
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	return slices.DeleteFunc(parts, func(s string) bool { return s == "" })
}

// lengths reads lengths with commas.
func lengths(text string) ([]units.Length, error) {
	var all []units.Length
	for _, one := range list(text) {
		var l units.Length
		if err := l.UnmarshalText([]byte(one)); err != nil {
			return nil, err
		}
		all = append(all, l)
	}
	return all, nil
}

// sides reads n lengths with x between.
func sides(text string, n int) ([]units.Length, error) {
	all, err := lengths(strings.ReplaceAll(text, " x ", ","))
	if err == nil && len(all) != n {
		err = fmt.Errorf("found %q: want %d lengths with x between", text, n)
	}
	return all, err
}

// number reads a bare number.
func number(what, text string, v *float64) error {
	if n, err := fmt.Sscanf(strings.TrimSpace(text)+"\n", "%g\n", v); n != 1 || err != nil {
		return fmt.Errorf("%s: found %q: want a number", what, strings.TrimSpace(text))
	}
	return nil
}
