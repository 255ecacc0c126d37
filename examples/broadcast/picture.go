package main

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
	vgdraw "gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/deposit"
)

var (
	ink      = color.NRGBA{R: 0x20, G: 0x20, B: 0x20, A: 255}
	faint    = color.NRGBA{R: 0x80, G: 0x80, B: 0x80, A: 255}
	white    = color.NRGBA{R: 255, G: 255, B: 255, A: 255}
	concrete = color.NRGBA{R: 0xB8, G: 0xB8, B: 0xB8, A: 255}
	amber    = color.NRGBA{R: 0xE6, G: 0x9F, A: 255}          // film
	quartz   = color.NRGBA{R: 0xF3, G: 0xEC, B: 0xDA, A: 255} // grain
	sky      = color.NRGBA{R: 0x9A, G: 0xD2, B: 0xF2, A: 255} // grout
)

const sheetWide = 220 * vg.Millimeter

// A section is a drawing under way; its heights are in diameters of the grain.
type section struct {
	c              vgdraw.Canvas
	x0, x1, floor  vg.Length
	per            vg.Length // one diameter
	high           vg.Length // of the sheet
	length         float64   // of the floor shown
	film, peak, up float64   // resin's level, the peaks' plane, the grout's surface
	voids          float64   // height at which the grout begins; air below it when not all is filled
}

// picture writes the bed in section, to scale.
func picture(w *wishes, bed aggregate.Bed) error {
	format := strings.TrimPrefix(filepath.Ext(w.picture), ".")
	if format != "svg" && format != "png" {
		return fmt.Errorf("picture = %q: want a name that ends in .svg or .png", w.picture)
	}
	s := newSection(w, bed)
	h, err := heap(w, bed, s.length, 6)
	if err != nil {
		return err
	}
	var c vg.CanvasWriterTo
	if format == "svg" {
		c = vgsvg.NewWith(vgsvg.UseWH(sheetWide, s.high), vgsvg.EmbedFonts(true))
	} else {
		c = vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(sheetWide, s.high), vgimg.UseDPI(150))}
	}
	s.c = vgdraw.NewCanvas(c, sheetWide, s.high)
	s.draw(w, bed, h)
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return err
	}
	return os.WriteFile(w.picture, b.Bytes(), 0o644)
}

// heap returns as much grain as the bed holds over a strip of a length and
// width, and the levels in it, all in diameters.
func heap(w *wishes, bed aggregate.Bed, length, width float64) (*deposit.Heap, error) {
	n := int(math.Round(float64(bed.Held) / float64(w.density) / float64(w.size) * length * width * 6 / math.Pi))
	if one := float64(n) * math.Pi / 4 / (length * width); one <= 0.83 { // one deep
		return deposit.Spread(length, width, n, w.seed)
	}
	return deposit.Pile(length, width, n, w.seed)
}

func newSection(w *wishes, bed aggregate.Bed) *section {
	d := float64(w.size)
	s := &section{x0: 8 * vg.Millimeter, x1: 160 * vg.Millimeter, floor: 40 * vg.Millimeter}
	s.peak = float64(bed.Peaks()) / d
	s.film = s.peak - float64(bed.Open)/d
	if bed.Embedment < 1 {
		s.film = float64(bed.Embedment)
	}
	s.voids = s.film + (1-float64(w.fill))*(s.peak-s.film)
	s.up = s.peak + float64(w.above)/d
	s.length = math.Max(10, 2.6*s.up)
	s.per = (s.x1 - s.x0) / vg.Length(s.length)
	s.high = s.y(s.up) + s.per/4 + 24*vg.Millimeter
	return s
}

func (s *section) draw(w *wishes, bed aggregate.Bed, h *deposit.Heap) {
	s.fill(white, 0, 0, sheetWide, s.high)
	s.fill(sky, s.x0, s.y(s.voids), s.x1, s.y(s.up))
	s.fill(amber, s.x0, s.floor, s.x1, s.y(s.film))
	for _, level := range []float64{s.film, s.peak, s.up} {
		s.line(ink, 0.5, vg.Point{X: s.x0, Y: s.y(level)}, vg.Point{X: s.x1, Y: s.y(level)})
	}
	for _, p := range h.Centres { // cut along the middle of the strip
		r2 := 0.25 - (p.Y-h.Width/2)*(p.Y-h.Width/2)
		if r2 <= 0 {
			continue
		}
		for _, x := range []float64{p.X - s.length, p.X, p.X + s.length} {
			s.disc(x, p.Z, math.Sqrt(r2))
		}
	}
	s.fill(white, 0, 0, s.x0, s.high) // what grain at the ends stands over
	s.fill(white, s.x1, 0, sheetWide, s.high)
	s.fill(concrete, s.x0, s.floor-8*vg.Millimeter, s.x1, s.floor)
	s.line(ink, 1, vg.Point{X: s.x0, Y: s.floor}, vg.Point{X: s.x1, Y: s.floor})
	s.text(9, ink, s.x0+2*vg.Millimeter, s.floor-5.5*vg.Millimeter, "slab")
	s.levels(w, bed)
	s.key(w)
	q := func(x units.Quantity) string { return units.Format(x, w.sys) }
	how := "broadcast to refusal"
	if w.rate != 0 {
		how = "broadcast, " + q(w.rate) + " thrown"
	}
	s.text(14, ink, s.x0, s.high-10*vg.Millimeter, fmt.Sprintf("Grain of %s in a wet film of %s, %s", units.Format(w.size, units.SI), q(w.film), how))
	s.text(9, faint, s.x0, s.high-16*vg.Millimeter, fmt.Sprintf("Holds %s; a cut through as many round grains as that is, %.0f times their size. The levels are means.", q(bed.Held), float64(s.per/vg.Millimeter)/float64(w.size/units.Millimetre)))
}

func (s *section) y(h float64) vg.Length { return s.floor + s.per*vg.Length(h) }

func (s *section) fill(c color.Color, x0, y0, x1, y1 vg.Length) {
	if y1 > y0 {
		s.c.FillPolygon(c, []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}})
	}
}

func (s *section) line(c color.Color, width vg.Length, pts ...vg.Point) {
	s.c.StrokeLines(vgdraw.LineStyle{Color: c, Width: width}, pts)
}

func (s *section) disc(x, z, r float64) {
	at := vg.Point{X: s.x0 + s.per*vg.Length(x), Y: s.y(z)}
	if at.X < s.x0-s.per || at.X > s.x1+s.per {
		return
	}
	var p vg.Path
	p.Move(vg.Point{X: at.X + s.per*vg.Length(r), Y: at.Y})
	p.Arc(at, s.per*vg.Length(r), 0, 2*math.Pi)
	p.Close()
	s.c.SetColor(quartz)
	s.c.Fill(p)
	s.c.SetColor(faint)
	s.c.SetLineWidth(0.6)
	s.c.Stroke(p)
}

// levels writes the heights beside the section, apart from each other.
func (s *section) levels(w *wishes, bed aggregate.Bed) {
	q := func(x units.Quantity) string { return units.Format(x, w.sys) }
	d := float64(w.size)
	type level struct {
		h    float64
		text string
	}
	levels := []level{{s.film, "resin " + q(units.Length(s.film*d))}}
	if s.peak > s.film {
		levels = append(levels, level{s.peak, "peaks " + q(units.Length(s.peak*d))})
	}
	if s.up > s.peak {
		levels = append(levels, level{s.up, "grout " + q(units.Length(s.up*d))})
	}
	y := vg.Length(0)
	for _, l := range levels {
		at := s.y(l.h)
		y = max(at-1.2*vg.Millimeter, y+5*vg.Millimeter)
		s.line(ink, 0.8, vg.Point{X: s.x1, Y: at}, vg.Point{X: s.x1 + 2*vg.Millimeter, Y: at}, vg.Point{X: s.x1 + 6*vg.Millimeter, Y: y + 1.2*vg.Millimeter}, vg.Point{X: s.x1 + 8*vg.Millimeter, Y: y + 1.2*vg.Millimeter})
		s.text(10, ink, s.x1+9*vg.Millimeter, y, l.text)
	}
}

// key names what the colours are, and gives the scale.
func (s *section) key(w *wishes) {
	x, y := s.x0, 20*vg.Millimeter
	for _, k := range []struct {
		c    color.Color
		text string
	}{{amber, "film"}, {quartz, "grain, cut"}, {white, "open voids"}, {sky, "grout"}} {
		s.fill(k.c, x, y, x+6*vg.Millimeter, y+4*vg.Millimeter)
		s.line(faint, 0.6, vg.Point{X: x, Y: y}, vg.Point{X: x + 6*vg.Millimeter, Y: y}, vg.Point{X: x + 6*vg.Millimeter, Y: y + 4*vg.Millimeter}, vg.Point{X: x, Y: y + 4*vg.Millimeter}, vg.Point{X: x, Y: y})
		s.text(10, ink, x+8*vg.Millimeter, y+0.6*vg.Millimeter, k.text)
		x += 38 * vg.Millimeter
	}
	bar := units.Millimetre
	if w.sys == units.US {
		bar = 40 * units.Mil
	}
	for float64(bar/w.size)*float64(s.per) > 0.4*float64(s.x1-s.x0) {
		bar /= 10
	}
	long := s.per * vg.Length(bar/w.size)
	y = 9 * vg.Millimeter
	s.line(ink, 1.5, vg.Point{X: s.x0, Y: y}, vg.Point{X: s.x0 + long, Y: y})
	s.text(10, ink, s.x0+long+3*vg.Millimeter, y-1.2*vg.Millimeter, units.Format(bar, w.sys)+", up and across")
}

func (s *section) text(size vg.Length, c color.Color, x, y vg.Length, text string) {
	for _, one := range liberation.Collection() {
		if f := one.Font; f.Variant == "Sans" && f.Style == 0 && f.Weight == 0 {
			one.Font.Size = size
			s.c.SetColor(c)
			s.c.FillString(font.Face{Font: one.Font, Face: one.Face}, vg.Point{X: x, Y: y}, text)
			return
		}
	}
}
