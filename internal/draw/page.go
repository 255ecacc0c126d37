package draw

import (
	"errors"
	"fmt"
	"io"
	"math"
	"time"
	"unicode"
	"unicode/utf8"

	"gonum.org/v1/plot/vg"
	vgdraw "gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"github.com/tackfree/tackfree/data/units"
)

// A page is what all sheets have: a head, strips on one clock, moments as flags.
type page struct {
	fn           string // for errors
	Title, Place string
	Start        time.Time
	System       units.System
	From, To     time.Duration
	Height       units.Length
	strips       []*strip
	moments      []moment   // in the order of time
	days         bool       // moments carry their weekday
	note         string     // under all, wrapped
	table        [][]string // under the strips: its first row is its head
	shrink       bool       // the type may be smaller, to three quarters, where Height is too little
	grow         bool       // the sheet may be higher than Height, where it needs it
	size         float64    // of the type, of the usual
}

const maxDots = 40_000_000

// write draws the page.
func (p *page) write(w io.Writer, format string, wide units.Length, dpi int) error {
	if err := p.fit(format, wide, dpi); err != nil {
		return err
	}
	width, height := points(wide), points(p.Height)
	var c vg.CanvasWriterTo
	if format == "svg" {
		c = vgsvg.NewWith(vgsvg.UseWH(width, height), vgsvg.EmbedFonts(true))
	} else {
		c = vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi))}
	}
	if _, err := compose(vgdraw.NewCanvas(c, width, height), p); err != nil {
		return err
	}
	_, err := c.WriteTo(w)
	return err
}

// fit makes the type smaller or the sheet higher where what it shows asks for that.
func (p *page) fit(format string, wide units.Length, dpi int) error {
	for p.size = 1; p.shrink && p.size > 0.75 && p.lacks(points(wide)) > 0; {
		p.size -= 0.025
	}
	if p.grow {
		p.Height += p.lacks(points(wide))
		return checkSides(p.fn, format, wide, p.Height, dpi)
	}
	return nil
}

func points(l units.Length) vg.Length { return vg.Length(l/units.Inch) * vg.Inch }

// sides returns the sides and the dots per inch of a sheet, those that are zero
// as [NightSheet] says.
func sides(width, height units.Length, dpi, events int) (units.Length, units.Length, int) {
	if width == 0 {
		width = 297 * units.Millimetre
	}
	if height == 0 {
		switch {
		case width == 297*units.Millimetre:
			height = 210 * units.Millimetre
		case width >= 240*units.Millimetre:
			height = width / math.Sqrt2
		case width >= 150*units.Millimetre:
			height = width * math.Sqrt2
		default: // room for a list of many events
			height = width*1.8 + 2*units.Millimetre*units.Length(min(max(events-10, 0), 200))
		}
	}
	if dpi == 0 {
		dpi = 150
	}
	return width, height, dpi
}

func refused(fn, format string, args ...any) error {
	return fmt.Errorf("%w: %s: %s", units.ErrRange, fn, fmt.Sprintf(format, args...))
}

func checkFormat(fn, format string) error {
	if format != "svg" && format != "png" {
		return refused(fn, "format = %q: want svg or png", format)
	}
	return nil
}

func checkSides(fn, format string, width, height units.Length, dpi int) error {
	err := errors.Join(units.InRange(fn, "Width", float64(width)*1e3, 80, 2000, "mm"), units.InRange(fn, "Height", float64(height)*1e3, 80, 2000, "mm"))
	if format == "png" {
		err = errors.Join(err, units.InRange(fn, "DPI", float64(dpi), 50, 600, ""))
		if dots := float64(width/units.Inch) * float64(height/units.Inch) * float64(dpi) * float64(dpi); dots > maxDots {
			err = errors.Join(err, refused(fn, "Width x Height at DPI = %d: %.3g dots: want at most %d", dpi, dots, maxDots))
		}
	}
	return err
}

// checkPrint refuses what would break a line of print, or an svg.
func checkPrint(fn, field, text string) error {
	if !utf8.ValidString(text) || utf8.RuneCountInString(text) > 200 {
		return refused(fn, "%s: want UTF-8 text of at most 200 characters", field)
	}
	for _, r := range text {
		if !unicode.IsPrint(r) {
			return refused(fn, "%s has the character %U: want text of one line", field, r)
		}
	}
	return nil
}
