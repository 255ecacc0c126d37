package systems_test

import (
	"context"
	"io"
	"io/fs"
	"testing"

	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/learn"
)

// What is missing altogether is an error, no panic. Source: DESIGN.md section 7.
func TestNilIsAnError(t *testing.T) {
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	var (
		ctx  context.Context
		r    io.Reader
		tree fs.FS
	)
	for name, call := range map[string]func() error{
		"reader":           func() error { _, err := systems.ReadJob(r, c); return err },
		"catalog":          func() error { _, err := systems.ReadJobFS(tree, "job.toml", nil); return err },
		"file tree":        func() error { _, err := systems.ReadJobFS(tree, "job.toml", c); return err },
		"data":             func() error { _, err := systems.Load(tree); return err },
		"context":          func() error { _, err := systems.Plan(ctx, systems.Job{}); return err },
		"job":              func() error { _, err := systems.Plan(context.Background(), systems.Job{}); return err },
		"readings":         func() error { _, err := learn.Read(r, systems.Job{}); return err },
		"tree of readings": func() error { _, err := learn.ReadFS(tree, "log.toml", systems.Job{}); return err },
	} {
		if err := call(); err == nil {
			t.Errorf("no %s: want an error", name)
		}
	}
}
