package main

import (
	"context"
	"io"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

// whatIf writes what the disturbances that text says do to the job's plan.
func whatIf(w io.Writer, j systems.Job, text string, sys units.System, asJSON bool) error {
	d, err := j.Disturbances(text)
	if err != nil {
		return err
	}
	x, err := systems.WhatIf(context.Background(), j, d...)
	if err != nil {
		return err
	}
	if asJSON {
		return encode(w, x)
	}
	return report.WriteDifference(w, x, sys)
}
