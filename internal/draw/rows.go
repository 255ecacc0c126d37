package draw

import (
	"image/color"

	"gonum.org/v1/plot/vg"
	vgdraw "gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"github.com/tackfree/tackfree/data/units"
)

// rowHeight is what one step takes at least: a line of text over a bar.
func (s *sheet) rowHeight() vg.Length { return 2.05 * s.size }

// bars draws the rows of a strip of steps, without their texts.
func (s *sheet) bars(p *strip) {
	if len(p.bars) == 0 {
		return
	}
	step := (p.y1 - p.y0) / vg.Length(len(p.bars))
	for i, r := range p.bars {
		low := p.y1 - vg.Length(i+1)*step
		y0, y1 := low+0.15*s.size, low+0.75*s.size
		if i > 0 {
			s.line(stroke{pale, 0.4, nil}, vg.Point{X: s.x0, Y: low + step}, vg.Point{X: s.x1, Y: low + step})
		}
		for _, x := range r.Open {
			if a, b, ok := s.cut(x); ok {
				s.frame(a, b, y0, y1, b < s.x1)
			}
		}
		for _, x := range r.Wet {
			if a, b, ok := s.cut(x); ok {
				s.hatch(a, b, y0+0.12*s.size, y1-0.12*s.size)
			}
		}
		for _, x := range r.Work {
			if a, b, ok := s.cut(x); ok {
				s.fill(black, a, y0, max(b, a+1.5), y1) // so that an hour's work is seen in a week
			}
		}
	}
}

// cut returns where a stretch is on the sheet.
func (s *sheet) cut(x Stretch) (a, b vg.Length, ok bool) {
	from, to := x.From.Hours(), x.To.Hours()
	if to < s.from || from > s.to {
		return 0, 0, false
	}
	return s.x(max(from, s.from)), s.x(min(to, s.to)), true
}

// frame draws a window: open at its right end where it goes on beyond the sheet.
func (s *sheet) frame(a, b, y0, y1 vg.Length, closes bool) {
	k := stroke{blue, 0.9, nil}
	pts := []vg.Point{{X: b, Y: y0}, {X: a, Y: y0}, {X: a, Y: y1}, {X: b, Y: y1}}
	s.fill(tint(skyBlue, 0.18), a, y0, b, y1)
	s.line(k, pts...)
	if closes {
		s.line(stroke{black, 2, nil}, vg.Point{X: b, Y: y0 - 0.1*s.size}, vg.Point{X: b, Y: y1 + 0.1*s.size})
	}
}

// hatch fills a box with slanted lines.
func (s *sheet) hatch(a, b, y0, y1 vg.Length) {
	if b-a < 0.5 {
		return
	}
	s.fill(paper, a, y0, b, y1)
	h := y1 - y0
	k := stroke{black, 0.5, nil}
	for x := a - h; x < b; x += 0.32 * s.size {
		p, q := vg.Point{X: x, Y: y0}, vg.Point{X: x + h, Y: y1}
		if p.X < a {
			p = vg.Point{X: a, Y: y0 + (a - x)}
		}
		if q.X > b {
			q = vg.Point{X: b, Y: y0 + (b - x)}
		}
		s.line(k, p, q)
	}
	s.line(k, vg.Point{X: a, Y: y0}, vg.Point{X: b, Y: y0}, vg.Point{X: b, Y: y1}, vg.Point{X: a, Y: y1}, vg.Point{X: a, Y: y0})
}

// rowNames writes the steps over their bars.
func (s *sheet) rowNames(p *strip) {
	f := face{size: 0.95 * s.size}
	step := (p.y1 - p.y0) / vg.Length(len(p.bars))
	for i, r := range p.bars {
		x := s.x0 + 0.3*s.size
		for _, w := range r.Work {
			if a, _, ok := s.cut(w); ok {
				x = a
				break
			}
		}
		text := s.when(r.Work[0].From) + " " + r.Name
		w := s.width(f, text)
		x = max(s.x0+0.3*s.size, min(x, s.right-w))
		text = s.shorten(f, text, s.right-x)
		s.write(f, black, x, p.y1-vg.Length(i+1)*step+s.size, text, true)
	}
	s.legend(p)
}

// legend says what the bars are, beside the strip's title.
func (s *sheet) legend(p *strip) {
	f := face{size: 0.95 * s.size}
	x := s.x0 + s.width(face{true, s.size}, p.title) + 1.5*s.size
	y := p.y1 + 0.45*s.size
	for _, one := range []struct {
		text string
		draw func(a, b, y0, y1 vg.Length)
	}{
		{"work", func(a, b, y0, y1 vg.Length) { s.fill(black, a, y0, b, y1) }},
		{"wet", s.hatch},
		{"recoat window", func(a, b, y0, y1 vg.Length) { s.frame(a, b, y0, y1, true) }},
	} {
		w := 1.6*s.size + s.width(f, one.text)
		if x+w > s.right {
			return
		}
		one.draw(x, x+1.2*s.size, y-0.05*s.size, y+0.6*s.size)
		s.write(f, black, x+1.6*s.size, y, one.text, false)
		x += w + 1.2*s.size
	}
}

// grid returns how wide the columns of the table are, and in how many blocks
// side by side it is set.
func (s *sheet) grid() (widths []vg.Length, blocks int) {
	f := face{true, 0.95 * s.size}
	for _, row := range s.n.table {
		for k, text := range row {
			if k == len(widths) {
				widths = append(widths, 0)
			}
			widths[k] = max(widths[k], s.width(f, text))
		}
	}
	if len(widths) == 0 {
		return nil, 0
	}
	rest := vg.Length(0)
	for _, w := range widths[1:] {
		rest += w + 0.9*s.size
	}
	widths[0] = min(widths[0], s.right-s.left-rest)
	blocks = int((s.right - s.left + 2*s.size) / (widths[0] + rest + 2*s.size))
	return widths, min(max(blocks, 1), len(s.n.table)-1)
}

// tableHeight is what the table takes, with the gap above it.
func (s *sheet) tableHeight() vg.Length {
	_, blocks := s.grid()
	if blocks == 0 {
		return 0
	}
	lines := (len(s.n.table)-2)/blocks + 2
	return vg.Length(lines)*1.25*s.size + 0.8*s.size
}

// table writes the table with its lower edge at bottom.
func (s *sheet) table(bottom vg.Length) {
	widths, blocks := s.grid()
	if blocks == 0 {
		return
	}
	head, rows := s.n.table[0], s.n.table[1:]
	lines := (len(rows) - 1) / blocks
	lines++
	wide := (s.right - s.left + 2*s.size) / vg.Length(blocks)
	at := func(i int) vg.Length { return bottom + vg.Length(lines-i)*1.25*s.size + 0.3*s.size }
	put := func(f face, c color.Color, x0, y vg.Length, row []string) {
		x := x0
		for k, text := range row {
			if k == 0 {
				s.write(f, c, x, y, s.shorten(f, text, widths[0]), false)
				x += widths[0]
				continue
			}
			x += 0.9*s.size + widths[k]
			s.write(f, c, x-s.width(f, text), y, text, false)
		}
	}
	for b := range blocks {
		x := s.left + vg.Length(b)*wide
		if b*lines >= len(rows) {
			return
		}
		put(face{true, 0.95 * s.size}, black, x, at(0), head)
		s.line(stroke{grey, 0.5, nil}, vg.Point{X: x, Y: at(0) - 0.3*s.size}, vg.Point{X: x + wide - 2*s.size, Y: at(0) - 0.3*s.size})
		for i, row := range rows[b*lines : min((b+1)*lines, len(rows))] {
			put(face{false, 0.95 * s.size}, black, x, at(i+1), row)
		}
	}
}

func (s *sheet) noteLines() []string {
	return s.wrap(face{size: 0.95 * s.size}, s.n.note, s.right-s.left, 12)
}

// notesHeight is what the note takes, with the gap above it.
func (s *sheet) notesHeight() vg.Length {
	n := len(s.noteLines())
	if n == 0 {
		return 0
	}
	return vg.Length(n)*1.25*s.size + 0.6*s.size
}

// notes writes the note with its lower edge at bottom.
func (s *sheet) notes(bottom vg.Length) {
	lines := s.noteLines()
	for i, text := range lines {
		s.write(face{size: 0.95 * s.size}, black, s.left, bottom+vg.Length(len(lines)-1-i)*1.25*s.size+0.3*s.size, text, false)
	}
}

// lacks returns by how much the page's height is too small for all of it.
func (p *page) lacks(width vg.Length) units.Length {
	s := newSheet(vgdraw.NewCanvas(new(recorder.Canvas), width, points(p.Height)), p)
	y := s.head(s.c.Max.Y - s.edge)
	_, lanes, key := s.flags(s.c.Max.Y - s.c.Min.Y)
	need := s.c.Max.Y - y + vg.Length(lanes)*1.3*s.size + 0.5*s.size + s.need(p.strips) + 2.9*s.size + s.tableHeight() + s.notesHeight() + s.edge
	if len(key) > 0 {
		cols := s.columns(key)
		need += vg.Length((len(key)+cols-1)/cols)*1.25*s.size + 0.8*s.size
	}
	if need -= s.c.Max.Y - s.c.Min.Y; need <= 0 {
		return 0
	}
	return units.Length((need+1)/vg.Inch) * units.Inch // a point for rounding
}
