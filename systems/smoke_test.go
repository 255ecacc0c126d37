package systems_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

func demo(t testing.TB) systems.Job {
	t.Helper()
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	j, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestSmoke(t *testing.T) {
	o, err := systems.Plan(context.Background(), demo(t))
	if err != nil {
		t.Fatal(err)
	}
	e := json.NewEncoder(os.Stdout)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	if err := e.Encode(o); err != nil {
		t.Fatal(err)
	}
}
