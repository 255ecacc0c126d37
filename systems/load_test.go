package systems_test

import (
	"runtime"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// Loading and checking all data is to take at most 25 ms on one core.
func BenchmarkLoad(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := systems.Builtin(); err != nil {
			b.Fatal(err)
		}
	}
}

// Loading and checking all data takes at most 5 MB from the heap, all in all: the
// project's own bound, no source.
func TestLoadTakesLittle(t *testing.T) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, err := systems.Builtin(); err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	if took := after.TotalAlloc - before.TotalAlloc; took > 5e6 {
		t.Errorf("loading takes %d bytes: want at most 5 MB", took)
	}
}

// A loaded catalog keeps at most 5 MB: the project's own bound, no source.
func TestCatalogIsSmall(t *testing.T) {
	live := func() uint64 {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	if _, err := systems.Builtin(); err != nil { // what is made once
		t.Fatal(err)
	}
	before := live()
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	after := live()
	if kept := int64(after) - int64(before); kept <= 0 || kept > 5e6 {
		t.Errorf("a catalog keeps %d bytes: want more than none and at most 5 MB", kept)
	}
	runtime.KeepAlive(c)
}
