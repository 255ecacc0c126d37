package systems

import "fmt"

// Bases counts the plan's figures by how they are known.
func (o *Outcome) Bases() map[Basis]int {
	n := map[Basis]int{}
	for _, f := range o.Figures {
		n[f.Basis]++
	}
	return n
}

// Share says in one sentence how many of the plan's figures nobody published or
// measured, or "" if there are none.
func (o *Outcome) Share() string {
	n := o.Bases()
	if loose := n[Illustrative] + n[CommonPractice]; loose > 0 {
		are := "are"
		if loose == 1 {
			are = "is"
		}
		return fmt.Sprintf("%d of %d figures %s illustrative or common practice: replace them by your product's sheet.", loose, len(o.Figures), are)
	}
	return ""
}
