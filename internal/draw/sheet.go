package draw

import (
	"cmp"
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
	vgdraw "gonum.org/v1/plot/vg/draw"

	"github.com/tackfree/tackfree/data/units"
)

// A box is where a text stands.
type box struct {
	text       string
	x0, y0, x1 vg.Length
	y1         vg.Length
}

func (b box) overlaps(c box) bool {
	return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1
}

// A sheet is a drawing under way. Lengths are in points from the lower left.
type sheet struct {
	c           vgdraw.Canvas
	n           *page
	size        vg.Length // of text
	x0, x1      vg.Length // of the strips
	left, right vg.Length // of the printed part
	edge        vg.Length // around it
	from, to    float64   // hours
	broken      bool      // a limit is
	boxes       []box
	moments     []vg.Length // where poles are
}

// A face is a font at a size.
type face struct {
	bold bool
	size vg.Length
}

func (s *sheet) font(f face) font.Face {
	for _, one := range liberation.Collection() {
		d := one.Font
		if d.Variant == "Sans" && d.Style == 0 && (d.Weight > 0) == f.bold {
			one.Font.Size = f.size
			return one
		}
	}
	panic("draw: gonum/plot has no Liberation Sans")
}

func (s *sheet) width(f face, text string) vg.Length {
	d := s.font(f)
	return d.Width(text)
}

// write writes a text with its lower left at x and the baseline y, on paper
// where it stands on lines, and notes where it is.
func (s *sheet) write(f face, c color.Color, x, y vg.Length, text string, cover bool) {
	if text == "" {
		return
	}
	b := s.box(f, x, y, text)
	if cover {
		s.fill(tint(paper, 0.85), b.x0-1, b.y0, b.x1+1, b.y1)
	}
	s.c.SetColor(c)
	s.c.FillString(s.font(f), vg.Point{X: x, Y: y}, text)
	s.boxes = append(s.boxes, b)
}

func (s *sheet) box(f face, x, y vg.Length, text string) box {
	return box{text, x, y - 0.22*f.size, x + s.width(f, text), y + 0.75*f.size}
}

func (s *sheet) fill(c color.Color, x0, y0, x1, y1 vg.Length) {
	s.c.FillPolygon(c, []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}})
}

func (s *sheet) line(k stroke, pts ...vg.Point) {
	s.c.StrokeLines(vgdraw.LineStyle{Color: k.color, Width: k.width, Dashes: k.dash}, pts)
}

func (s *sheet) x(hours float64) vg.Length {
	return s.x0 + (s.x1-s.x0)*vg.Length((hours-s.from)/(s.to-s.from))
}

func (p *strip) y(v float64) vg.Length {
	return p.y0 + (p.y1-p.y0)*vg.Length((v-p.scale.lo)/(p.scale.hi-p.scale.lo))
}

// shorten cuts a text to a width.
func (s *sheet) shorten(f face, text string, w vg.Length) string {
	if s.width(f, text) <= w+0.01 { // rounding
		return text
	}
	r := []rune(text)
	for len(r) > 0 && s.width(f, string(r)+"…") > w {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ") + "…"
}

// wrap breaks a text into lines of a width, at most as many as asked for.
func (s *sheet) wrap(f face, text string, w vg.Length, most int) []string {
	var out []string
	words := strings.Fields(text)
	for len(words) > 0 {
		k := 1
		for k < len(words) && s.width(f, strings.Join(words[:k+1], " ")) <= w {
			k++
		}
		if len(out) == most-1 {
			k = len(words)
		}
		out = append(out, s.shorten(f, strings.Join(words[:k], " "), w))
		words = words[k:]
	}
	return out
}

// newSheet returns an empty sheet.
func newSheet(c vgdraw.Canvas, n *page) *sheet {
	s := &sheet{c: c, n: n}
	w := c.Max.X - c.Min.X
	// 7.5 pt at a phone's 400 dots, 10 of them; 9 pt on A4.
	s.size = min(max(7.5+(w-300)/360, 7), 12)
	if n.size > 0 {
		s.size *= vg.Length(n.size)
	}
	s.edge = min(max(0.033*w, 8), 28)
	s.left, s.right = c.Min.X+s.edge, c.Max.X-s.edge
	s.from, s.to = n.From.Hours(), n.To.Hours()
	s.sides(n.strips)
	return s
}

// compose draws the sheet.
func compose(c vgdraw.Canvas, n *page) (*sheet, error) {
	s := newSheet(c, n)
	all := n.strips
	s.fill(paper, c.Min.X, c.Min.Y, c.Max.X, c.Max.Y)
	y := c.Max.Y - s.edge
	y = s.head(y)
	flags, lanes, key := s.flags(c.Max.Y - c.Min.Y)
	lane := 1.3 * s.size
	bottom := c.Min.Y + s.edge
	s.notes(bottom)
	bottom += s.notesHeight()
	s.table(bottom)
	bottom += s.tableHeight()
	floor := bottom + 2.9*s.size // hours and days

	// Height of the strips; a key of numbered moments takes what they can spare.
	need := s.need(all)
	top := y - vg.Length(lanes)*lane - 0.5*s.size
	rows := 0
	if len(key) > 0 {
		step := 1.25 * s.size
		spare := top - floor - need - 0.8*s.size
		cols := s.columns(key)
		rows = min((len(key)+cols-1)/cols, max(int(spare/step), 1))
		floor += vg.Length(rows)*step + 0.8*s.size
		s.key(key, cols, rows, bottom, step)
	}
	if top-floor < need {
		return nil, refused(n.fn, "Height = %.0f mm: want at least %.0f mm for %d strips at this Width", float64(n.Height)*1e3,
			math.Ceil(float64(n.Height)*1e3+float64(need-(top-floor))*25.4/72), len(all))
	}
	s.stack(all, top, top-floor-need)
	s.strips(all)
	s.poles(flags, all, top, lane)
	s.labels(all)
	s.clock(all[len(all)-1].y0)
	return s, nil
}

// Heights of a strip: its title's line, the gap below it, more between panels.
func (s *sheet) title() vg.Length { return 1.5 * s.size }
func (s *sheet) gap(p, next *strip) vg.Length {
	if p.panel != next.panel {
		return 1.1 * s.size
	}
	return 0.7 * s.size
}

// least is the least height of a strip's plot.
func (s *sheet) least(p *strip) vg.Length {
	least := 2.6 * s.size
	if p.tall {
		least = 8 * s.size
		if s.n.grow && !s.n.shrink { // on a phone, room for the names of the bands
			least += 1.5 * s.size * vg.Length(len(p.areas))
		}
	}
	least = max(least, vg.Length(len(p.bars))*s.rowHeight())
	return max(least, vg.Length(len(p.series)+len(p.bounds))*1.15*s.size)
}

// need returns the least height of all strips.
func (s *sheet) need(all []*strip) vg.Length {
	h := vg.Length(0)
	for i, p := range all {
		h += s.title() + s.least(p)
		if i > 0 {
			h += s.gap(all[i-1], p)
		}
	}
	return h
}

// stack gives the strips their heights.
func (s *sheet) stack(all []*strip, top, spare vg.Length) {
	sum := 0.0
	for _, p := range all {
		sum += p.weight
	}
	y := top
	for i, p := range all {
		if i > 0 {
			y -= s.gap(all[i-1], p)
		}
		p.y1 = y - s.title()
		p.y0 = p.y1 - s.least(p) - spare*vg.Length(p.weight/sum)
		y = p.y0
		apart := 1.3 * s.size
		if p.tall {
			apart = 1.8 * s.size
		}
		lo, hi := p.scale.lo, p.scale.hi
		for ; apart > s.size; apart -= 0.1 * s.size {
			p.scale = newScale(lo, hi, (hi-lo)*float64(apart/(p.y1-p.y0)))
			if len(p.scale.ticks) > 1 {
				break
			}
		}
		if p.rows {
			p.scale.ticks = nil
		}
	}
}

// Direct labels: a stub of the line, then its name.
func (s *sheet) stub() vg.Length { return 2 * s.size }

// sides leaves room beside the strips for ticks and direct labels.
func (s *sheet) sides(all []*strip) {
	f := face{size: s.size}
	ticks, names := vg.Length(0), vg.Length(0)
	for _, p := range all {
		for n := 2; n < 12 && !p.rows; n++ { // the number of ticks is not known yet
			k := newScale(p.scale.lo, p.scale.hi, (p.scale.hi-p.scale.lo)/float64(n))
			for _, v := range k.ticks {
				ticks = max(ticks, s.width(f, k.label(v, p.sep)))
			}
		}
		for _, l := range p.series {
			names = max(names, s.width(f, l.name))
		}
		for _, b := range p.bounds {
			names = max(names, s.width(f, b.name))
		}
	}
	names = min(names, 0.25*(s.right-s.left))
	s.x0 = s.left + ticks + 0.5*s.size
	s.x1 = s.right - names - s.stub() - 1.6*s.size
}

// head writes the title, the place and the time, and returns where it ends.
func (s *sheet) head(y vg.Length) vg.Length {
	n := s.n
	big, small := face{true, 1.5 * s.size}, face{false, s.size}
	for _, t := range s.wrap(big, n.Title, s.right-s.left, 2) {
		y -= 1.6 * s.size
		s.write(big, black, s.left, y, t, false)
	}
	a, b := n.Start.Add(n.From), n.Start.Add(n.To)
	when := clock(a, n.System) + " " + day(a, n.System, true) + " to " + clock(b, n.System) + " " + day(b, n.System, true)
	under := []string{n.Place, when}
	if one := n.Place + " - " + when; n.Place != "" && s.width(small, one) <= s.right-s.left {
		under = []string{one}
	}
	for _, text := range under {
		for _, t := range s.wrap(small, text, s.right-s.left, 2) {
			y -= 1.4 * s.size
			s.write(small, grey, s.left, y, t, false)
		}
	}
	return y - 0.6*s.size
}

func (s *sheet) flagFace(mark bool) face { return face{mark, 0.95 * s.size} }

// flags returns the moments as flags and how many lanes they take: with their
// text, or where that takes too many, with numbers and a key to them.
func (s *sheet) flags(height vg.Length) (flags []flag, lanes int, key []moment) {
	all := slices.Clone(s.n.moments)
	width := func(f flag) vg.Length { return s.width(s.flagFace(f.mark), f.text) + 0.5*s.size }
	x := func(at time.Duration) vg.Length { return s.x(at.Hours()) }
	for i := range all {
		all[i].text = s.shorten(s.flagFace(true), s.when(all[i].at)+" "+all[i].text, s.right-s.left-4*s.size)
		flags = append(flags, flag{x: x(all[i].at), text: all[i].text, mark: all[i].mark})
	}
	lanes = place(flags, width, s.right, 0.4*s.size)
	if lanes <= max(3, int(0.2*height/(1.3*s.size))) {
		return flags, lanes, nil
	}
	for near := 0.5 * s.size; ; near *= 1.3 {
		flags = numbered(all, x, near)
		if lanes = place(flags, width, s.right, 0.4*s.size); lanes <= 3 {
			return flags, lanes, all
		}
	}
}

// when writes a moment: its hour, on sheets of several days with its weekday.
func (s *sheet) when(at time.Duration) string {
	t := s.n.Start.Add(at)
	switch {
	case s.to-s.from > 7*24:
		return t.Format("Mon 2, ") + clock(t, s.n.System)
	case s.n.days:
		return t.Format("Mon ") + clock(t, s.n.System)
	}
	return clock(t, s.n.System)
}

func (s *sheet) entry(i int, m moment) string { return fmt.Sprintf("%d  %s", i+1, m.text) }

// columns returns in how many columns the key is set.
func (s *sheet) columns(key []moment) int {
	w := vg.Length(1)
	for i, m := range key {
		w = max(w, s.width(s.flagFace(m.mark), s.entry(i, m)))
	}
	return max(1, int((s.right-s.left+1.5*s.size)/(w+1.5*s.size)))
}

// key lists the numbered moments, column by column; what finds no room is
// counted in the last entry.
func (s *sheet) key(key []moment, cols, rows int, bottom, step vg.Length) {
	for i, m := range key {
		text := s.entry(i, m)
		last := i == cols*rows-1 && len(key) > cols*rows
		if last {
			text = fmt.Sprintf("and %d more, from %s on", len(key)-i, s.when(m.at))
		}
		x := s.left + (s.right-s.left+1.5*s.size)/vg.Length(cols)*vg.Length(i/rows)
		s.write(s.flagFace(m.mark), black, x, bottom+vg.Length(rows-1-i%rows)*step+0.3*s.size, text, false)
		if last {
			return
		}
	}
}

// poles draws the flags and their poles: full for marks, dashed for events.
func (s *sheet) poles(flags []flag, all []*strip, top, lane vg.Length) {
	base := top + 0.5*s.size
	look := func(mark bool) stroke {
		if mark {
			return stroke{black, 0.6, nil}
		}
		return stroke{grey, 0.6, []vg.Length{2, 1.6}}
	}
	title := s.x0 + s.width(face{true, s.size}, all[0].title) + 0.5*s.size
	for _, f := range flags {
		foot := all[0].y1
		if f.x < title {
			foot = top - 0.1*s.size
		}
		s.line(look(f.mark), vg.Point{X: f.x, Y: base + vg.Length(f.lane+1)*lane - 0.1*s.size}, vg.Point{X: f.x, Y: foot})
	}
	for _, m := range s.n.moments {
		s.moments = append(s.moments, s.x(m.at.Hours()))
		for _, p := range all {
			s.line(look(m.mark), vg.Point{X: s.x(m.at.Hours()), Y: p.y1}, vg.Point{X: s.x(m.at.Hours()), Y: p.y0})
		}
	}
	for _, f := range flags {
		s.write(s.flagFace(f.mark), black, f.left+0.3*s.size, base+vg.Length(f.lane)*lane+0.35*s.size, f.text, f.left < f.x)
	}
}

// strips draws the plots without their texts.
func (s *sheet) strips(all []*strip) {
	steps := s.step()
	a, b := s.n.Start.Add(s.n.From), s.n.Start.Add(s.n.To)
	for _, p := range all {
		if len(p.ribbon) > 0 {
			pts := make([]vg.Point, len(p.ribbon))
			for k, q := range p.ribbon {
				pts[k] = vg.Point{X: s.x(q.t), Y: p.y(q.v)}
			}
			s.c.FillPolygon(tint(grey, 0.2), pts)
		}
		for _, b := range p.areas {
			x0, x1, y0, y1 := s.x(b.from), s.x(b.to), p.y(b.low), p.y(b.high)
			s.fill(tint(b.color, 0.22), x0, y0, x1, y1)
		}
		for _, v := range p.scale.ticks {
			s.line(stroke{pale, 0.4, nil}, vg.Point{X: s.x0, Y: p.y(v)}, vg.Point{X: s.x1, Y: p.y(v)})
		}
		for _, t := range hours(a, b, steps) {
			k := stroke{pale, 0.4, nil}
			if t.Hour() == 0 && t.Minute() == 0 {
				k = stroke{pale, 1.2, nil}
			}
			x := s.x(t.Sub(s.n.Start).Hours())
			s.line(k, vg.Point{X: x, Y: p.y0}, vg.Point{X: x, Y: p.y1})
		}
		for _, b := range p.areas {
			x0, x1, y0, y1 := s.x(b.from), s.x(b.to), p.y(b.low), p.y(b.high)
			edge := stroke{b.color, 1, nil}
			if b.from > s.from {
				s.line(edge, vg.Point{X: x0, Y: y0}, vg.Point{X: x0, Y: y1})
			}
			if b.to < s.to {
				s.line(edge, vg.Point{X: x1, Y: y0}, vg.Point{X: x1, Y: y1})
			}
			if !b.lowCut {
				s.line(edge, vg.Point{X: x0, Y: y0}, vg.Point{X: x1, Y: y0})
				s.wrong(p, wrong(p.series[0].points, b.from, b.to, b.low, true))
			}
			if !b.topCut {
				s.line(edge, vg.Point{X: x0, Y: y1}, vg.Point{X: x1, Y: y1})
				s.wrong(p, wrong(p.series[0].points, b.from, b.to, b.high, false))
			}
		}
		for _, b := range p.bounds {
			s.wrong(p, wrong(p.series[b.of].points, s.from, s.to, b.v, b.least))
			s.line(limitStroke, vg.Point{X: s.x0, Y: p.y(b.v)}, vg.Point{X: s.x1, Y: p.y(b.v)})
		}
		for i := len(p.series) - 1; i >= 0; i-- {
			l := p.series[i]
			pts := make([]vg.Point, len(l.points))
			for k, q := range l.points {
				pts[k] = vg.Point{X: s.x(q.t), Y: p.y(q.v)}
			}
			if l.filled {
				s.c.FillPolygon(tint(l.stroke.color, 0.18), append(slices.Clone(pts), vg.Point{X: pts[len(pts)-1].X, Y: p.y0}, vg.Point{X: pts[0].X, Y: p.y0}))
			}
			if p.rows {
				s.whisker(l.stroke, pts[0], pts[1])
			} else {
				s.line(l.stroke, pts...)
			}
		}
		s.bars(p)
		for _, d := range p.dots {
			s.dot(s.x(d.t), p.y(d.v))
		}
		s.line(stroke{grey, 0.6, nil}, vg.Point{X: s.x0, Y: p.y1}, vg.Point{X: s.x0, Y: p.y0}, vg.Point{X: s.x1, Y: p.y0})
	}
}

var limitStroke = stroke{black, 0.8, []vg.Length{1.2, 1.6}}

func (s *sheet) wrong(p *strip, polygons [][]point) {
	for _, poly := range polygons {
		s.broken = true
		pts := make([]vg.Point, len(poly))
		for i, q := range poly {
			pts[i] = vg.Point{X: s.x(q.t), Y: p.y(q.v)}
		}
		s.c.FillPolygon(tint(vermillion, 0.45), pts)
	}
}

// labels writes titles, ticks, the lines' names and the bands' texts.
func (s *sheet) labels(all []*strip) {
	f := face{size: s.size}
	for _, p := range all {
		s.write(face{true, s.size}, black, s.x0, p.y1+0.45*s.size, s.shorten(face{true, s.size}, p.title, s.right-s.x0), true)
		for _, v := range p.scale.ticks {
			t := p.scale.label(v, p.sep)
			s.write(f, black, s.x0-0.4*s.size-s.width(f, t), p.y(v)-0.27*s.size, t, false)
		}
		if p == all[0] && s.broken {
			text := "outside a limit"
			w := s.width(f, text)
			x, y := s.x1-w, p.y1+0.45*s.size
			if x-2.4*s.size > s.x0+s.width(face{true, s.size}, p.title) {
				s.write(f, black, x, y, text, true)
				s.fill(paper, x-1.5*s.size, y-0.1*s.size, x-0.4*s.size, y+0.7*s.size)
				s.fill(tint(vermillion, 0.45), x-1.5*s.size, y-0.1*s.size, x-0.4*s.size, y+0.7*s.size)
			}
		}
		if len(p.bars) > 0 {
			s.rowNames(p)
			continue
		}
		if p.along {
			s.along(p)
		} else {
			s.names(p)
		}
		for i := range p.areas {
			if p.areas[i].name != "" {
				s.band(p, i)
			}
		}
	}
}

// names writes the names of a strip's lines at their ends, moved apart.
func (s *sheet) names(p *strip) {
	type name struct {
		text    string
		stroke  stroke
		end, at vg.Length
	}
	var all []name
	for _, l := range p.series {
		y := p.y(l.points[len(l.points)-1].v)
		all = append(all, name{l.name, l.stroke, y, y})
	}
	for _, b := range p.bounds {
		all = append(all, name{b.name, limitStroke, p.y(b.v), p.y(b.v)})
	}
	slices.SortStableFunc(all, func(a, b name) int { return int(min(max((a.end-b.end)*1e6, -1), 1)) })
	step := 1.1 * s.size
	low := p.y0 + 0.3*s.size
	for i := range all {
		all[i].at = max(all[i].at, low)
		low = all[i].at + step
	}
	high := p.y1 + 0.2*s.size
	for i := len(all) - 1; i >= 0; i-- {
		all[i].at = min(all[i].at, high)
		high = all[i].at - step
	}
	f := face{size: s.size}
	for _, l := range all {
		x := s.x1 + 0.8*s.size
		s.line(stroke{grey, 0.4, nil}, vg.Point{X: s.x1, Y: l.end}, vg.Point{X: x, Y: l.at})
		s.line(l.stroke, vg.Point{X: x, Y: l.at}, vg.Point{X: x + s.stub(), Y: l.at})
		x += s.stub() + 0.4*s.size
		s.write(f, black, x, l.at-0.27*s.size, s.shorten(f, l.text, s.right-x), false)
	}
}

// band writes the text of a band where it hides the least.
func (s *sheet) band(p *strip, i int) {
	a := p.areas[i]
	f := face{size: 0.95 * s.size}
	chip := s.size // of the band's colour, before the text
	text := s.shorten(f, a.name, s.x1-s.x0-s.size-chip)
	w := s.width(f, text) + chip
	pad := 0.4 * s.size
	left, right := s.x(a.from)+pad, max(s.x(a.from), s.x(a.to)-w)-pad
	low, high := p.y(a.low), p.y(a.high)
	best, least := vg.Point{}, math.Inf(1)
	ys := []vg.Length{high - 1.05*s.size, low + 0.5*s.size, (low+high)/2 - 0.3*s.size, high + 0.4*s.size, low - 1.05*s.size,
		high - 2.3*s.size, low + 1.8*s.size, high - 3.6*s.size, low + 3.1*s.size, high + 1.7*s.size, low - 2.4*s.size}
	for y := p.y0; y < p.y1; y += 0.6 * s.size {
		ys = append(ys, y) // anywhere, when all that is taken
	}
	for _, y := range ys {
		y = min(max(y, p.y0+0.4*s.size), p.y1-0.9*s.size)
		for k := range 50 {
			x := left + max(right-left, 0)*vg.Length(k)/24
			if k >= 25 {
				x = s.x0 + (s.x1-s.x0)*vg.Length(k-25)/24
			}
			x = min(max(x, s.x0+pad), s.x1-w-pad)
			b := s.box(f, x, y, text)
			b.x1 += chip
			cost := s.cost(p, b, least) + 0.02*float64(k)
			if k >= 25 {
				cost += 10 + 120*math.Abs(float64((x-left)/(s.x1-s.x0)))
				cost += s.astray(p, i, b)
			}
			if from, to, ok := s.lead(p, a, b); ok {
				way := box{"", min(from.X, to.X), min(from.Y, to.Y), max(from.X, to.X) + 0.1, max(from.Y, to.Y) + 0.1}
				if slices.ContainsFunc(s.boxes, way.overlaps) {
					cost += 40
				}
			}
			if y+0.4*s.size > high || y < low {
				cost += 6 + 6*float64(max(y+0.4*s.size-high, low-y)/s.size) // beside the band
			}
			if cost < least {
				best, least = vg.Point{X: x, Y: y}, cost
			}
		}
	}
	if from, to, ok := s.lead(p, a, box{"", best.X, best.Y - 0.22*f.size, best.X + w, best.Y + 0.75*f.size}); ok {
		s.line(stroke{black, 0.6, nil}, from, to)
	}
	s.fill(tint(paper, 0.85), best.X-1, best.Y-0.22*f.size, best.X+chip, best.Y+0.75*f.size)
	s.fill(a.color, best.X, best.Y, best.X+0.65*s.size, best.Y+0.65*s.size)
	s.write(f, black, best.X+chip, best.Y, text, true)
}

// astray is what it costs that the text of the i-th band stands at another one,
// or that another one is between.
func (s *sheet) astray(p *strip, i int, b box) float64 {
	cost, own := 0.0, p.areas[i]
	for k, a := range p.areas {
		x0, x1 := s.x(a.from)-s.size, s.x(a.to)+s.size
		if k == i || s.x(own.from) < x1 && s.x(own.to) > x0 {
			continue
		}
		if min(b.x0, s.x(own.to)) < x1 && max(b.x1, s.x(own.from)) > x0 {
			cost += 30
		}
	}
	return cost
}

// lead returns the line from a band's text to the band, where the text is not at
// it: without colours nothing else tells whose it is.
func (s *sheet) lead(p *strip, a area, b box) (from, to vg.Point, ok bool) {
	near := func(v, lo, hi vg.Length) vg.Length { return min(max(v, lo), hi) }
	x0, x1, y0, y1 := s.x(a.from), s.x(a.to), p.y(a.low), p.y(a.high)
	from = vg.Point{X: near((x0+x1)/2, b.x0, b.x1), Y: near((y0+y1)/2, b.y0, b.y1)}
	to = vg.Point{X: near(from.X, x0, x1), Y: near(from.Y, y0+0.3*s.size, y1-0.3*s.size)}
	return from, to, from != to && !(max(b.x0, x0) <= min(b.x1, x1) && max(b.y0, y0) <= min(b.y1, y1))
}

// cost is how much a text in a box would hide; it need not be exact from least on.
func (s *sheet) cost(p *strip, b box, least float64) float64 {
	cost := 0.0
	for _, o := range s.boxes {
		if b.overlaps(o) {
			cost += 1000
		}
	}
	for _, l := range p.bounds {
		if y := p.y(l.v); y > b.y0 && y < b.y1 {
			cost += 5
		}
	}
	for _, a := range p.areas {
		for _, y := range []vg.Length{p.y(a.low), p.y(a.high)} {
			if y > b.y0 && y < b.y1 && s.x(a.from) < b.x1 && s.x(a.to) > b.x0 {
				cost += 5
			}
		}
		for _, x := range []vg.Length{s.x(a.from), s.x(a.to)} {
			if x > b.x0 && x < b.x1 && p.y(a.low) < b.y1 && p.y(a.high) > b.y0 {
				cost += 5
			}
		}
	}
	for _, d := range p.dots {
		if x, y, r := s.x(d.t), p.y(d.v), 0.7*s.size; x > b.x0-r && x < b.x1+r && y > b.y0-r && y < b.y1+r {
			cost += 20
		}
	}
	for _, x := range s.moments {
		if x > b.x0-2 && x < b.x1+2 {
			cost += 2
		}
	}
	if cost >= least {
		return cost
	}
	for _, l := range p.series {
		first, _ := slices.BinarySearchFunc(l.points, b.x0, func(q point, x vg.Length) int { return cmp.Compare(s.x(q.t), x) })
		for k := max(first, 1); k < len(l.points); k++ {
			q, r := l.points[k-1], l.points[k]
			x0, x1 := s.x(q.t), s.x(r.t)
			if x0 > b.x1 {
				break
			}
			y0, y1 := p.y(q.v), p.y(r.v)
			if max(y0, y1) > b.y0-1 && min(y0, y1) < b.y1+1 {
				cost += 40 * float64((min(x1, b.x1)-max(x0, b.x0))/(b.x1-b.x0))
			}
		}
	}
	return cost
}

// hour writes an hour of the axis: "12 am" where there is no room for "midnight".
func (s *sheet) hour(t time.Time) string {
	if s.x1-s.x0 < 40*s.size && s.n.System == units.US && t.Minute() == 0 {
		return t.Format("3 pm")
	}
	return clock(t, s.n.System)
}

// step returns the minutes between two hours written on the axis.
func (s *sheet) step() int {
	perMinute := (s.x1 - s.x0) / vg.Length(s.to-s.from) / 60
	for _, m := range []int{5, 10, 15, 30, 60, 120, 180, 360, 720} {
		wide := max(s.width(face{size: s.size}, s.hour(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))), s.width(face{size: s.size}, "00:00"))
		if m < 60 {
			wide = s.width(face{size: s.size}, "12:30 pm")
		}
		if vg.Length(m)*perMinute > wide+s.size {
			return m
		}
	}
	return 1440
}

// clock writes the hours and the days below the last strip.
func (s *sheet) clock(y vg.Length) {
	f := face{size: s.size}
	n := s.n
	a, b := n.Start.Add(n.From), n.Start.Add(n.To)
	step := s.step()
	fits := step < 1440 || s.x(24)-s.x(0) > s.width(f, s.hour(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)))+0.5*s.size
	for _, t := range hours(a, b, step) {
		if !fits { // the days below say enough
			break
		}
		x := s.x(t.Sub(n.Start).Hours())
		s.line(stroke{grey, 0.6, nil}, vg.Point{X: x, Y: y}, vg.Point{X: x, Y: y - 0.3*s.size})
		text := s.hour(t)
		s.write(f, black, min(max(x-s.width(f, text)/2, s.left), s.right-s.width(f, text)), y-1.35*s.size, text, false)
	}
	bold := face{true, s.size}
	edges := []time.Time{a}
	for _, t := range hours(a, b, 24*60) {
		if t.After(a) && t.Before(b) {
			edges = append(edges, t)
		}
	}
	edges = append(edges, b)
	every, written := 1+int((s.width(f, "30")+0.5*s.size)/(s.x(24)-s.x(0))), s.left
	for i := 1; i < len(edges); i++ {
		x0, x1 := s.x(edges[i-1].Sub(n.Start).Hours()), s.x(edges[i].Sub(n.Start).Hours())
		if i > 1 {
			s.line(stroke{grey, 0.5, nil}, vg.Point{X: x0, Y: y - 1.6*s.size}, vg.Point{X: x0, Y: y - 2.7*s.size})
		}
		date := edges[i-1].Format("2")
		if x := (x0 + x1 - s.width(f, date)) / 2; !fits && (i-1)%every == 0 && x > written {
			s.write(f, black, x, y-1.35*s.size, date, false)
			written = x + s.width(f, date) + 0.3*s.size
		}
		for _, text := range []string{day(edges[i-1], n.System, false), edges[i-1].Format("Mon 2"), edges[i-1].Format("Mon")} {
			if w := s.width(bold, text); w < x1-x0-0.6*s.size {
				s.write(bold, black, (x0+x1-w)/2, y-2.6*s.size, text, false)
				break
			}
		}
	}
}
