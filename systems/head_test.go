package systems_test

import (
	"testing"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// The floor is in service when the slowest of what lies in it is, not the last
// coat alone. Common practice, no source.
func TestServiceOfTheWholeFloor(t *testing.T) {
	o := planOf(t, string(systems.DemoJob()))
	var slowest time.Time
	for _, w := range o.Schedule {
		for _, e := range w.Events {
			if e.Event == systems.Service && e.At != nil && e.At.After(slowest) {
				slowest = *e.At
			}
		}
	}
	if o.Service == nil || !o.Service.Equal(slowest) || !o.ServiceHeld {
		t.Errorf("full service %v (held %v), the slowest coat's %v", o.Service, o.ServiceHeld, slowest)
	}
}

// Nobody walks on the floor before the last vacuuming ends. Common practice, no source.
func TestFootAfterLastWork(t *testing.T) {
	o := planOf(t, read(t, "overlay.toml"))
	if o.Foot == nil || o.Foot.Before(o.End) {
		t.Errorf("foot traffic from %v, last work ends %v", o.Foot, o.End)
	}
}

// A plan of nothing ends when it starts.
func TestNothingToDo(t *testing.T) {
	text := baseJob
	for _, s := range []string{"sound", "patch", "joint", "warm", "grind", "clean", "cove", "prime", "body", "throw", "sweep", "grout", "seal"} {
		text += "[steps." + s + "]\nskip = true\n"
	}
	if o := planOf(t, text); !o.End.Equal(o.Start) || o.Foot != nil || o.Service != nil {
		t.Errorf("starts %v, ends %v, foot %v, service %v", o.Start, o.End, o.Foot, o.Service)
	}
}
