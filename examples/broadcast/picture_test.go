package main

import (
	"bytes"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// Common practice, no source. What is drawn is to scale: levels and amount of grain are measured in the PNG.
func TestPictureToScale(t *testing.T) {
	perMM := 150 / 25.4 // pixels
	for _, tc := range []struct {
		args               []string
		size               float64 // mm
		resin, up, solids  float64 // mm, mm, share of grain below the resin's level
		tolerance, between float64 // of solids; mm of floor shown
	}{
		// Thin: half embedded at t/d = .22667 (aggregate notes 1.3); half a layer of spheres at 0.82 is 2/3 x 0.82 = .547 of the lower half.
		{[]string{"-size", "1 mm", "-film", "226.67 um", "-grout", "0.2 mm"}, 1, 0.5, 1.2, .547, .15, 10},
		// Thick: film 2 mm at .55 is 4.444 mm high; peaks 0.2267 above, grout 0.5 on them.
		{[]string{"-size", "1 mm", "-film", "2 mm", "-grout", "0.5 mm"}, 1, 4.444, 4.444 + .2267 + .5, .55, .08, 2.6 * (4.444 + .2267 + .5)},
	} {
		name := filepath.Join(t.TempDir(), "section.png")
		clitest.Want(t, clitest.Main(run).Out(t, 0, append(tc.args, "-picture", name)...), "picture in")
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		scale := 152 / tc.between * perMM // pixels of a millimetre of floor
		floor := float64(img.Bounds().Max.Y) - 40*perMM
		is := func(x, y int, want color.NRGBA) bool { return color.NRGBAModel.Convert(img.At(x, y)) == want }
		grains, all := 0.0, 0.0
		top := map[color.NRGBA]float64{}
		for x := int(8*perMM) + 2; x < int(160*perMM)-2; x++ {
			for y := img.Bounds().Min.Y; float64(y) < floor-1; y++ {
				for _, c := range []color.NRGBA{amber, sky} {
					if is(x, y, c) {
						top[c] = max(top[c], (floor-float64(y))/scale)
					}
				}
				if float64(y) > floor-tc.resin*scale {
					all++
					if is(x, y, quartz) {
						grains++
					}
				}
			}
		}
		px := 3 / scale // a line's width and the rounding of a pixel
		if math.Abs(top[amber]-tc.resin) > px || math.Abs(top[sky]-tc.up) > px {
			t.Errorf("%v: resin to %.3f, grout to %.3f mm; want %.3f and %.3f within %.3f", tc.args, top[amber], top[sky], tc.resin, tc.up, px)
		}
		if phi := grains / all; math.Abs(phi-tc.solids) > tc.tolerance { // one cut of a few dozen grains
			t.Errorf("%v: %.3f of the bed is grain; want %.3f within %.2f", tc.args, phi, tc.solids, tc.tolerance)
		}
	}
}

func TestPictureFiles(t *testing.T) {
	dir := t.TempDir()
	draw := func(name string, more ...string) []byte {
		clitest.Main(run).Out(t, 0, append(more, "-picture", filepath.Join(dir, name))...)
		b, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	a := draw("a.svg")
	for _, text := range []string{"Grain of 600 um in a wet film of 10 mil, broadcast to refusal", "resin 22.9 mil", "peaks 23.6 mil", "grout 31.6 mil", "40 mil, up and across", "open voids", "slab"} {
		if !strings.Contains(string(a), text) {
			t.Errorf("no %q in the svg", text)
		}
	}
	if !bytes.Equal(a, draw("b.svg")) {
		t.Error("the same wishes draw another picture")
	}
	if bytes.Equal(a, draw("c.svg", "-seed", "2")) {
		t.Error("another seed draws the same picture")
	}
	if !strings.Contains(string(draw("d.svg", "-rate", "0.05 lb/ft2", "-units", "si")), "0.244 kg/m2 thrown") {
		t.Error("the rate is not told")
	}
	// A film of thousands of grains is too fine to draw: an error, no file.
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-film", "90 mm", "-size", "0.1 mm", "-picture", filepath.Join(dir, "e.svg")), "want 4 to 200")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-picture", filepath.Join(dir, "none", "f.svg")), "f.svg")
}
