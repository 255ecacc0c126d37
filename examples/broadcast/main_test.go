package main

import (
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// One layer of 0.6 mm quartz at 0.82: 0.17803 lb/ft2 (monolayer mass, computed
// by hand: 2/3 x 0.82 x 0.6 mm x 2650 kg/m3); the rest common practice, no
// source. 1250 ft2 hold 222.5 lb, 317.9 lb thrown at 70 %.
func TestRun(t *testing.T) {
	got := clitest.Main(run).Out(t, 0)
	clitest.Want(t, got, "holds 0.178 lb/ft2")
	clitest.Want(t, got, "grout 6.79 gal") // open voids 0.4533 x 23.62 - 10 = 0.709 mil, and 8 mil: 1250 x 8.709/1604.167
	clitest.Want(t, got, "throw 318 lb, vacuum back 95.4 lb")
	clitest.Want(t, got, "buy 261 lb")                     // 317.9/4 = 79.48 and 3 x (79.48 - 0.8 x 23.84) = 181.2
	clitest.Want(t, got, "19.1 lb left")                   // 0.8 x 23.84
	clitest.Want(t, got, "spread at most 450 ft2")         // 15 min at 1/450 - 1/600 h/ft2 = 2 s/ft2
	clitest.Want(t, got, "one kit of 1.5 gal grouts 276")  // 1.5 x 1604.167/8.709
	clitest.Want(t, got, "1.32 gal of resin and 60.8 lb")  // 5 gal/3.784 of bulk; x 9.18 lb/gal x 5
	clitest.Want(t, got, "0.125 lb/ft2 hides 95.9 %")      // 1 - exp(-0.125/0.03902)
	clitest.Want(t, got, "second course of 20 mil holds")  // 20 - 0.709 mil at .55
	clitest.Want(t, got, "grain crosses the film in 0.42") // 10 mil at 0.608 mm/s
	clitest.Want(t, got, "a road's design lays this grain one deep as 0.234 lb/ft2")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-film", "0 mil"), "want above 0 to 100")
}

func TestQuestions(t *testing.T) {
	m := clitest.Main(run)
	// The middle of the overlay's band (see package aggregate): D50 2.28 mm, Cu 2.01, fineness modulus 4.445.
	got := m.Out(t, 0, "-film", "40.1 mil", "-grading", "No. 4:100 No. 8:52.5% 1.18 mm:2.5 #30:0.5")
	clitest.Want(t, got, "D50 2.28 mm, D90 4.1 mm, Cu 2.01")
	clitest.Want(t, got, "fineness modulus 4.4")
	clitest.Want(t, got, "holds 0.67") // 6.09 lb/yd2
	// Ohio DOT CMS 2010 512.05: 0.80 lb/yd2 = 0.0889 lb/ft2 is a light broadcast; all of it stays.
	got = m.Out(t, 0, "-rate", "0.8 lb/yd2", "-size", "1.2 mm", "-film", "20 mil")
	clitest.Want(t, got, "a light broadcast")
	clitest.Want(t, got, "throw 111 lb, vacuum back 0 lb")
	clitest.Want(t, m.Out(t, 0, "-film", "2 mil", "-second", "5 mil"), "a second course of 5 mil starves")
	clitest.Want(t, m.Out(t, 0, "-throwing", "900 ft2/h"), "no bound on the area")
	clitest.Want(t, m.Out(t, 0, "-density", "0.8 kg/L"), "grain floats")
	clitest.Want(t, m.Out(t, 0, "-viscosity", "0.001", "-size", "2 mm"), "Reynolds number")
	clitest.Want(t, m.Out(t, 0, "-fill", "60 %", "-film", "5 mil"), "voids of 2.28 mil stay open") // 0.4 x (10.709 - 5)
	for _, bad := range [][]string{{"-grading", "No. 7:100"}, {"-grading", "No. 8"}, {"-grading", "No. 8:x"}, {"-grading", "No. 8:100"}, {"-sections", "0"}, {"-area", "-1 ft2"}, {"-usable", "120 %"},
		{"-window", "0h"}, {"-kit", "0 gal"}, {"-patch", "0 gal"}, {"-flake", "-1 lb/ft2"}, {"-fine", "0 mm"}, {"-packing", "90 %"}, {"-picture", "section.gif"}, {"-retention", "0 %"}} {
		m.Out(t, 1, bad...)
	}
}
