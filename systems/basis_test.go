package systems_test

import (
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// The plan says how much of it is loose: counted here by hand.
func TestShare(t *testing.T) {
	o := planOf(t, baseJob)
	loose := 0
	for _, f := range o.Figures {
		if f.Basis == systems.CommonPractice || f.Basis == systems.Illustrative {
			loose++
		}
	}
	if n := systems.Bases(o.Figures); loose == 0 || n[systems.CommonPractice]+n[systems.Illustrative] != loose {
		t.Errorf("%d loose figures, %v", loose, n)
	}
	few := systems.Outcome{Figures: []systems.Figure{{Origin: systems.Origin{Basis: systems.Published}}, {Origin: systems.Origin{Basis: systems.Illustrative}}, {Origin: systems.Origin{Basis: systems.FromSheet}}}}
	if got, want := few.Share(), "1 of 3 figures is illustrative or common practice: replace them by your product's sheet."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	few.Figures = few.Figures[:1]
	if got := few.Share(); got != "" {
		t.Errorf("nothing loose: %q", got)
	}
}
