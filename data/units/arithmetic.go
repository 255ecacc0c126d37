package units

import "time"

// Arithmetic that changes dimension. None of these checks its arguments: the
// models do, and a division by zero is an infinity that the next check stops.

// Times returns the area of a rectangle with sides l and m.
func (l Length) Times(m Length) Area { return Area(l) * Area(m) }

// Over returns the volume of a film of thickness l over a.
func (l Length) Over(a Area) Volume { return Volume(l) * Volume(a) }

// Spread returns the area that a volume covers at film l.
func (l Length) Spread() Spread { return Spread(1 / float64(l)) }

// Film returns the film at which a volume covers s times its area.
func (s Spread) Film() Length { return Length(1 / float64(s)) }

// Volume returns the volume that covers a at spread s.
func (s Spread) Volume(a Area) Volume { return Volume(float64(a) / float64(s)) }

// Length returns a/l: how long a strip of width l and area a is.
func (a Area) Length(l Length) Length { return Length(float64(a) / float64(l)) }

// Times returns the volume of a prism of base a and height l.
func (a Area) Times(l Length) Volume { return Volume(a) * Volume(l) }

// PerArea returns the film that v makes over a.
func (v Volume) PerArea(a Area) Length { return Length(float64(v) / float64(a)) }

// Mass returns the mass of v at density d.
func (v Volume) Mass(d Density) Mass { return Mass(float64(v) * float64(d)) }

// PerArea returns the loading of m on a.
func (m Mass) PerArea(a Area) Loading { return Loading(float64(m) / float64(a)) }

// Volume returns the volume of m at density d.
func (m Mass) Volume(d Density) Volume { return Volume(float64(m) / float64(d)) }

// PerVolume returns the density of m in v.
func (m Mass) PerVolume(v Volume) Density { return Density(float64(m) / float64(v)) }

// Over returns the mass of loading l on a.
func (l Loading) Over(a Area) Mass { return Mass(float64(l) * float64(a)) }

// For returns the area done in d at rate r.
func (r AreaRate) For(d time.Duration) Area { return Area(float64(r) * d.Seconds()) }

// Time returns how long a takes at rate r, to the nanosecond.
func (r AreaRate) Time(a Area) time.Duration { return seconds(float64(a) / float64(r)) }

// For returns the length passed in d at speed s.
func (s Speed) For(d time.Duration) Length { return Length(float64(s) * d.Seconds()) }

// Time returns how long l takes at speed s, to the nanosecond.
func (s Speed) Time(l Length) time.Duration { return seconds(float64(l) / float64(s)) }

// For returns the volume that passes in d at flow f.
func (f Flow) For(d time.Duration) Volume { return Volume(float64(f) * d.Seconds()) }

// Time returns how long v takes at flow f, to the nanosecond.
func (f Flow) Time(v Volume) time.Duration { return seconds(float64(v) / float64(f)) }

// For returns the energy given in d at power p.
func (p Power) For(d time.Duration) Energy { return Energy(float64(p) * d.Seconds()) }

// seconds converts, and holds at the longest Duration (292 years) what is longer.
func seconds(s float64) time.Duration {
	const longest = 1<<63 - 1
	if !(s*1e9 < longest) {
		return longest
	}
	return time.Duration(s * 1e9)
}
