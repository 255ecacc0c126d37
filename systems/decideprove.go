package systems

import (
	"errors"
	"slices"
)

// A told is what is known of choices with water beyond the bounds of their classes.
type told struct {
	of   func(combo, heat int) bool // whether it is of these
	open []value                    // bounds of beginnings that were not searched in their spaces
}

// mostSpaces is how many beginnings are searched in their spaces at most.
const mostSpaces = 100

// prove looks for choices better than the best weighed among those that give water:
// all of which only the slab does, and those of which the first coat does and no
// other. What no bound shuts out is searched in its space.
func (pr *problem) prove(r *result, w *weighed, take func(*weighing)) (*told, error) {
	if !r.forward || w.best.real.rank > 0 || pr.g.For != Earliest && pr.g.For != LeastFuel {
		return nil, nil
	}
	known := map[[2]int]bool{} // combo, heat
	t := &told{of: func(combo, heat int) bool { return known[[2]int{combo, heat}] }}
	var all []leaf
	for heat := range pr.heats {
		for _, tell := range []func(int, *value) ([]leaf, []int, error){pr.ofSlab, pr.ofFirst} {
			leaves, combos, err := tell(heat, &w.best.real)
			if errors.Is(err, errTooLarge) {
				continue
			}
			if err != nil {
				return nil, err
			}
			all = append(all, leaves...)
			for _, i := range combos {
				known[[2]int{i, heat}] = true
			}
		}
	}
	slices.SortStableFunc(all, func(a, b leaf) int { return a.bound.compare(&b.bound) })
	seen := map[string]bool{}
	for i := range all {
		l := &all[i]
		if !l.bound.better(&w.best.real) {
			continue
		}
		if len(seen) == mostSpaces {
			t.open = append(t.open, l.bound)
			continue
		}
		v, err := pr.within(l, &w.best.real, seen)
		if err == nil && v != nil {
			var x *weighing
			var dry *value // as the search would take it
			if dry, err = pr.searchTakes(v); err == nil {
				x, err = pr.planned(dry)
			}
			if err == nil {
				w.all = append(w.all, x)
				w.known[pr.class(v)], w.sure[pr.class(v)] = &x.real, true
				take(x)
				if x.real.better(v) || v.better(&x.real) {
					err = errNotTold
				}
			}
		}
		if errors.Is(err, errNotTold) {
			t.open, err = append(t.open, l.bound), nil
		}
		if err != nil {
			return nil, err
		}
	}
	w.spaces = len(seen)
	return t, nil
}

// ofSlab returns the beginnings that may be better than best in a way to heat of
// the combos of which only the slab gives water, and these.
func (pr *problem) ofSlab(heat int, best *value) (all []leaf, combos []int, err error) {
	only := func(i int) bool {
		return pr.combos[i].wet && !slices.ContainsFunc(pr.seq, pr.combos[i].p.gives)
	}
	for i := range pr.combos {
		if only(i) {
			combos = append(combos, i)
		}
	}
	if len(combos) == 0 {
		return nil, nil, nil
	}
	x, err := pr.extremes(heat)
	if x == nil || err != nil {
		return nil, nil, err
	}
	for start := range pr.starts {
		b, err := pr.newBetween(heat, start, best, x, only)
		if err != nil {
			return nil, nil, err
		}
		p, err := b.begin(nil)
		if err == nil && p != nil {
			err = b.leaves(0, 0, len(pr.combos), p, nil, 0, 0, &all)
		}
		if err != nil {
			return nil, nil, err
		}
	}
	return all, combos, nil
}

// searchTakes returns what the search takes a choice for, which counts no water.
func (pr *problem) searchTakes(v *value) (*value, error) {
	c := choice{combo: v.combo, heat: v.heat, start: v.start, holds: pr.holds(v.chain)}
	j := pr.job(c)
	p, err := sections(pr.ctx, &j, pr.heats[v.heat].sky)
	if err != nil {
		return nil, err
	}
	dry, err := pr.of(p, c, pr.heats[v.heat])
	return &dry, err
}
