package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

// whatIf writes what the disturbances that text says do to the job's plan, and
// returns it going on as planned through them.
func whatIf(w io.Writer, j systems.Job, text string, sys units.System, asJSON bool) (*systems.Outcome, error) {
	d, err := j.Disturbances(text)
	if err != nil {
		return nil, err
	}
	x, err := systems.WhatIf(context.Background(), j, d...)
	if err != nil {
		return nil, err
	}
	if asJSON {
		return x.AsPlanned.Outcome, encode(w, x)
	}
	return x.AsPlanned.Outcome, report.WriteDifference(w, x, sys)
}

// saveDisturbed writes the picture of the plan as planned through the
// disturbances that text says.
func saveDisturbed(name string, j systems.Job, text string, sys units.System, width units.Length) error {
	format, err := pictureFormat(name)
	if err != nil {
		return err
	}
	d, err := j.Disturbances(text)
	if err != nil {
		return err
	}
	x, err := systems.WhatIf(context.Background(), j, d...)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := drawPlan(&b, format, j, x.AsPlanned.Outcome, nil, x, sys, width); err != nil {
		return errors.New(strings.ReplaceAll(err.Error(), "\n", "; "))
	}
	return os.WriteFile(name, b.Bytes(), 0o644)
}
