package systems

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"reflect"
	"slices"
	"strings"
)

// An Input is what a plan was made from, beside the catalog: the job's text and
// the files that it names, as they were read.
type Input struct {
	Name  string            `json:"name"` // of the job's file, in errors
	Text  string            `json:"text"`
	Files map[string]string `json:"files,omitempty"` // a logger's readings, by the name in the job
}

// ErrDiffers says that a plan made again is not the one recorded.
var ErrDiffers = errors.New("the plan made again differs from the one recorded")

// Replay makes a plan again from its own JSON: from the job's text and files
// that stand in it, with exactly the data files that it names, whatever newer
// ones c has. The outcome marshals to the same bytes.
//
// The data themselves do not stand in the JSON, but their versions and SHA-256
// do: c must have them, with the layers that the plan was made with, and a file
// that was edited since is refused. Where the outcome is another all the same,
// Replay returns it beside an error that wraps [ErrDiffers]: the library
// computes something in another way since, or the program changed the [Job]
// after reading it, which its text does not tell.
func Replay(ctx context.Context, outcome []byte, c *Catalog) (*Outcome, error) {
	if c == nil {
		return nil, errors.New("systems.Replay: catalog = nil: want one from Builtin, Load or LoadLayers")
	}
	var was struct {
		Input *Input   `json:"input"`
		Files []FileID `json:"files"`
		Data  string   `json:"data"`
	}
	if err := json.Unmarshal(outcome, &was); err != nil {
		return nil, fmt.Errorf("systems.Replay: %w", err)
	}
	if was.Input == nil || was.Input.Text == "" || len(was.Files) == 0 {
		return nil, errors.New("systems.Replay: found no input or no files: want the JSON of a whole Outcome")
	}
	old, err := c.asOf(was.Files)
	if err != nil {
		return nil, fmt.Errorf("systems.Replay: %w", err)
	}
	old.version = was.Data // what the plan says of itself
	var open func(string) ([]byte, error)
	if was.Input.Files != nil {
		open = func(name string) ([]byte, error) {
			text, ok := was.Input.Files[name]
			if !ok {
				return nil, fs.ErrNotExist
			}
			return []byte(text), nil
		}
	}
	j, err := readJob(strings.NewReader(was.Input.Text), was.Input.Name, open, old)
	if err != nil {
		return nil, fmt.Errorf("systems.Replay: %w", err)
	}
	o, err := Plan(ctx, j)
	if err != nil {
		return nil, err
	}
	now, err := json.Marshal(o)
	if err != nil {
		return nil, fmt.Errorf("systems.Replay: %w", err)
	}
	var a, b map[string]any
	if err := errors.Join(json.Unmarshal(outcome, &a), json.Unmarshal(now, &b)); err != nil {
		return nil, fmt.Errorf("systems.Replay: %w", err)
	}
	keys := maps.Clone(a)
	maps.Copy(keys, b)
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		if !reflect.DeepEqual(a[key], b[key]) {
			return o, fmt.Errorf("systems.Replay: %w: first at %q", ErrDiffers, key)
		}
	}
	return o, nil
}
