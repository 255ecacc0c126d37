package systems

import (
	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// bedOf returns the bed of a broadcast into a wet film: of flakes, of grain that
// a slurry takes, or thrown to refusal.
func bedOf(s *Step, m *Material, film units.Length) (aggregate.Bed, error) {
	grain := aggregate.Grain{Size: m.Size.Q, Density: m.Density.Q, Packing: m.Packing.Q, Coverage: m.Coverage.Q}
	switch {
	case m.Plate.Given():
		return plates(film, m), nil
	case s.Takes.Given():
		return takes(s.Takes.Q, film, grain)
	}
	return aggregate.ToRefusal(film, grain)
}

// plates returns the bed of flakes thrown to refusal into a wet film. Flakes
// lie flat on each other, so that grain's balance of resin and spheres does not
// hold for them: how much stays is a figure of the material (what is left after
// the loose ones are scraped off), and does not hang on the film. The flakes
// pack at the material's packing; the film fills their voids from below, and
// what it leaves open the next coat fills. A film of more than their voids
// stands above them.
//
// Source: volume balance; the loading and the packing are common practice, no source.
func plates(film units.Length, m *Material) aggregate.Bed {
	solid := units.Length(float64(m.Refusal.Q) / float64(m.Density.Q))
	voids := solid/units.Length(m.Packing.Q) - solid
	return aggregate.Bed{
		Held: m.Refusal.Q, Height: solid + max(voids, film), Open: max(0, voids-film),
		Embedment: 1, Coverage: 1,
	}
}

// takes returns the bed of grain of which rate stays in a film that does not
// rise among it, such as a slurry: how much it takes is given, and no more than
// a balance of the film's volume allows, [aggregate.ToRefusal]. Grain and film
// fill the bed; over a full layer the top one is taken as half embedded,
// d (1/2 - c/3) open below its peaks, as ToRefusal does: our assumption,
// illustrative.
func takes(rate units.Loading, film units.Length, g aggregate.Grain) (aggregate.Bed, error) {
	bed, err := aggregate.Broadcast(rate, film, g)
	if err != nil || bed.Light || bed.Embedment < 1 || bed.Held < rate {
		return bed, err
	}
	c := g.Coverage
	if c == 0 {
		c = aggregate.PlanCoverage
	}
	if layer := units.Loading(2. / 3 * float64(c) * float64(g.Size) * float64(g.Density)); rate <= layer {
		return bed, nil
	}
	bed.Open = g.Size * units.Length(0.5-c/3)
	bed.Height = film + units.Length(float64(rate)/float64(g.Density)) + bed.Open
	return bed, nil
}
