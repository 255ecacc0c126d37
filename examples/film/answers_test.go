package main

import (
	"strings"
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// One line each, by hand for the floor of 1250 ft2 at 16 mil (arithmetic, no source).
func TestAnswers(t *testing.T) {
	out := clitest.Main(run).Out(t, 0)
	for _, line := range []string{
		"of it film 12.5 gal, texture 0 fl oz, pores 0 fl oz, tools 0 fl oz, buckets 0 fl oz, waste 0.656 gal", // 13.12 x 5 %
		"cheapest: 1 of 15 gal for 690.00, 1.88 gal left",                                                      // 5 of 3 gal would be 750
		"(4 mil, 3.28 gal) the coat takes 13.1 gal and builds 20 mil",                                          // 1250 x 4/1604.167/0.95
		"less 4 ft2: 1246 ft2, edges 158 ft",                                                                   // 150 + 8
		"1.5 in: 0.974 gal, cut to a V 0.487 gal",                                                              // 19.25 ft/gal by in2
		"base of 100 ft x 4 in x 1 in: face 38.09 ft2, mortar behind it 1.11 gal, floor less by 8.333 ft2",     // 100 (3 + pi/2)/12; 1200 (1 - pi/4)/231
		"mix of 8.83 lb/gal, by mass 100 : 44.02",                                                              // (2 x 9.2 + 8.1)/3
		"scratch of 7 mil: the coat hides; levelled it leaves 0 mil",
		"measure 4 areas, 20 spots, 60 readings", // 3 + 1 for the 250 ft2 over 1000
		"comb 14 mil, 16 mil: short for 16 mil wet; it dries to 14 mil to 16 mil",
		"6 readings by 80/20: pass; mean 16.5 mil, least 15 mil, 16.7 % below 16 mil",                                                // 99/6; one of six
		"the crew scatters by 1.05 mil",                                                                                              // sqrt(5.5/5)
		"13.5 gal used on 1250 ft2: 92.6 ft2/gal, mean dry film 16.5 mil",                                                            // 1250/13.5; 13.5 x 0.95 x 1604.167/1250
		"0.40 lb/gal: within the limit of 0.83 lb/gal",                                                                               // 100 g/L
		"79.4 % solids by volume, 85 % by mass, 10.9 lb/gal; volatile compounds 0.54 lb/gal, less water and exempt ones 0.62 lb/gal", // (60/9.5 + 1)/9.211 ...; 5/9.211; 5/8.010
		"a spot of 1 ft2 that drank 0.406 fl oz: the pores take 2.54 mil of resin",                                                   // 6 mL on 929 cm2
		"pores of 8 %, 40 mil deep: they take 3.2 mil",
		"a profile of 4 mil by putty: it takes 2 mil",
		"a film of 16 mil suits profile classes 3 to 5",
		"a floor of 6 corners: 310 ft2, edges 74 ft",                                        // 20 x 12 + 14 x 5
		"a stair of 3 x 5 ft x 11 in x 6.5 in: 21.88 ft2",                                   // 3 x 5 x 17.5/12
		"over a rod of 0.5 in: 0.423 gal flush, and 2.97 fl oz to be shaved off",            // 28 ft of 0.2909 in2; of a bead 3/8 in by 1/16 in
		"a patch of 3.5 ft2: 1.7 gal of mortar, of it 8.73 fl oz ground off",                // 504 (0.75 + 0.0625/2)/231
		"with 1.5 of its mass of filler: 13.8 lb/gal, 2.4 volumes of one of the first part", // 2.5 x 8.833/1.599; 1.5 (1 + 1.5 x 1.0585/2.65)
		"takes 7686 ft3/min of outdoor air",                                                 // 0.5 kg/h / 92.1 g/mol x 24.06 L / 5e-5 x 5
	} {
		clitest.Want(t, out, line)
	}
	for want, args := range map[string][]string{
		"6 kits of 3 gal": {"-tools", "2 gal"}, "buckets 24 fl oz": {"-residue", "4 fl oz", "-batch", "3 gal", "-tools", "1 qt", "-profile", "2 mil"}, // 6 batches
		"fail spot-too-thin mean-too-thin":                               {"-readings", "12 mil, 17 mil"},
		"by 90/10: fail spot-too-thin":                                   {"-readings", "12 mil, 20 mil", "-rule", "90/10"},
		"by 80 % of nominal: pass":                                       {"-readings", "13 mil, 20 mil", "-rule", "nominal"},
		"by spot averages, level 3: fail mean-t":                         {"-readings", "25 mil, 28 mil", "-rule", "spots"},
		"the coat may show it; levelled it leaves 3.5 mil":               {"-solids", "50 %"},
		"the coat does not flood it":                                     {"-dry", "5 mil"},
		"48 g/L: within the limit of 100 g/L":                            {"-units", "si"},
		"above the limit":                                                {"-thinner", "10 %"},                                         // (0.4 + 0.1 x 7.2)/1.1 = 1.02 lb/gal
		"edges 14.4 fl oz, faces 19.2 fl oz, crust 3.12 gal":             {"-edge", "240 ft", "-faces", "40 ft2", "-texture", "4 mil"}, // 240 x 0.25 x 3, 40 x 6, 1250 x 4 by 1604.167
		"5 of 3 gal for 750.00, 1.88 gal left, each batch of whole kits": {"-whole", "-batch", "3 gal"},
		"comb 15 mil, 17 mil: between":                                   {"-comb", "15 mil, 17 mil"},
	} {
		clitest.Want(t, clitest.Main(run).Out(t, 0, args...), want)
	}
	for want, args := range map[string][]string{
		`-rule: found "70/30": want 80/20, 90/10, nominal, spots`: {"-rule", "70/30"},
		"want two teeth": {"-comb", "14 mil"},
		"want 2 lengths": {"-room", "50 ft"},
		"want 3 lengths": {"-joint", "50 ft x 1 in"},
		"want a number":  {"-kits", "3 gal"},
		"-formula: found \"dries\": want stays, solvent, water or exempt": {"-formula", "1 kg of 1 kg/L dries"},
		"-ring: found": {"-ring", "12 mL x 1 ft2"}, "-bands: found \"3\"": {"-bands", "0 mil to 30 mil = 3"}, "sides cross": {"-corners", "0 m, 0 m; 1 m, 1 m; 1 m, 0 m; 0 m, 1 m"},
		"-stair: steps": {"-stair", "x x 1 m x 1 m x 1 m"}, "-cut: found": {"-cut", "1 m x 1 cm"}, "-patch: found": {"-patch", "1 m2"}, "-filler: ratio": {"-filler", "a x 1 kg/L"}, "-vapour: found": {"-vapour", "1 kg/h"},
		"-parts: ratio":                 {"-parts", "two x 9 lb/gal"},
		"reading 2 = -1 mil":            {"-readings", "10 mil, -1 mil"},
		"is not a length":               {"-readings", "10 gal"},
		"loss.Profile + loss.Uptake = ": {"-used", "1 gal", "-uptake", "9 mil"},
	} {
		clitest.Want(t, clitest.Main(run).Out(t, 1, args...), want)
	}
	// Empty texts and zeros leave lines out.
	short := clitest.Main(run).Out(t, 0, "-kits", "", "-primer", "0 mil", "-room", "", "-joint", "", "-base", "", "-parts", "", "-scratch", "0 mil", "-readings", "", "-comb", "", "-used", "0 gal", "-formula", "", "-ring", "", "-porosity", "", "-putty", "", "-bands", "", "-corners", "", "-stair", "", "-cut", "", "-patch", "", "-vapour", "")
	if n := strings.Count(short, "\n"); n != 5 {
		t.Errorf("%d lines left, want 5: %q", n, short)
	}
}
