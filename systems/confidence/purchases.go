package confidence

import (
	"math"
	"sort"
	"sync"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// billionth is what a kit may lack of a need and still cover it, as in
// [coverage.Kits].
const billionth = 1e-9

// purchases are what the draws of one line make the job buy.
type purchases struct {
	line  *line
	w     *systems.Working
	unit  float64
	takes []float64 // what each draw must buy at least, from the smallest

	once  sync.Once
	steps []purchase
	err   error
}

// A purchase is what is bought up to an amount.
type purchase struct {
	upTo float64
	n    int
	kits []systems.KitLine
}

// short returns the share of the draws that an amount, m3 or kg, is too little for.
func (p *purchases) short(amount float64) units.Fraction {
	n := len(p.takes)
	at := sort.Search(n, func(i int) bool { return p.takes[i]*(1-billionth) > amount })
	return units.Fraction(n-at) / units.Fraction(n)
}

// at returns what does with a chance of at least level.
func (p *purchases) at(level units.Fraction) (int, []systems.KitLine, error) {
	i := int(math.Ceil(float64(level)*float64(len(p.takes))*(1-1e-12))) - 1
	x, err := p.buy(p.takes[max(i, 0)])
	return x.n, x.kits, err
}

// buy buys for one amount.
func (p *purchases) buy(amount float64) (x purchase, err error) {
	if p.line.UnitVolume == 0 {
		x.n, err = coverage.Kits(units.Mass(amount), p.line.UnitMass)
		x.upTo = float64(x.n) * p.unit
		return x, err
	}
	if x.kits, err = p.w.KitsFor(p.line.Material, units.Volume(amount)); err != nil {
		return x, err
	}
	for _, k := range x.kits {
		x.n += k.N
	}
	x.upTo = held(x.kits)
	return x, nil
}

// each buys for one draw. What is cheapest for an amount is cheapest for all from
// there to what it holds: whatever covers more covers it too. So the draws are
// bought for from the smallest up, and kits are chosen only where those before
// no longer do.
func (p *purchases) each(amount float64) (int, []systems.KitLine, error) {
	p.once.Do(func() {
		last := -1.0
		for _, t := range p.takes {
			if t*(1-billionth) <= last {
				continue
			}
			x, err := p.buy(t)
			if err != nil {
				p.err = err
				return
			}
			p.steps, last = append(p.steps, x), x.upTo
		}
	})
	if p.err != nil {
		return 0, nil, p.err
	}
	x := p.steps[sort.Search(len(p.steps)-1, func(i int) bool { return amount*(1-billionth) <= p.steps[i].upTo })]
	return x.n, x.kits, nil
}
