package systems

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Change is one key of a job's text and the TOML value that it is to have, such
// as the key room, slab, deep and the value "48 °F" in its quotes. An empty Value
// takes the key out.
type Change struct {
	Key   []string
	Value string
}

// Revise returns the job read again from its text with changes put in, and that
// text. It starts from what [ReadJob] read: what the program has changed in the
// [Job] since is lost. Files that the text names are those read before. Faults
// are as those of ReadJob; a key that stands in a table on one line cannot be
// put in, and is an error that says so.
func (j *Job) Revise(changes ...Change) (Job, string, error) {
	if j.catalog == nil || j.input.Text == "" {
		return Job{}, "", errors.New("systems.Job.Revise: the job was not read by ReadJob")
	}
	text := strings.TrimPrefix(j.input.Text, "\ufeff") // the mark that some editors write before UTF-8
	for _, c := range changes {
		var err error
		if text, err = tomlfile.Put(text, c.Key, c.Value); err != nil {
			return Job{}, "", fmt.Errorf("systems.Job.Revise: %w", err)
		}
	}
	var open func(string) ([]byte, error)
	if j.input.Files != nil {
		open = func(name string) ([]byte, error) {
			if file, ok := j.input.Files[name]; ok {
				return []byte(file), nil
			}
			return nil, fs.ErrNotExist
		}
	}
	out, err := readJob(strings.NewReader(text), j.input.Name, open, j.catalog)
	return out, text, err
}

// Skips reports whether the job skips a step of its recipe.
func (j *Job) Skips(id string) bool { return j.skip[id] }

// MaterialOf returns what a step takes on this job, the recipe's material or the one
// that the job took instead, with the job's own figures over its data sheet's, and
// whether it takes one. It is the caller's own: changing it changes nothing else.
func (j *Job) MaterialOf(id string) (Material, bool) {
	m, ok := j.materials[j.Recipe.Steps[id].Material]
	if !ok {
		return Material{}, false
	}
	return m.clone(), true
}
