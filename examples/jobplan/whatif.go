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
// returns how the work goes on as planned through them.
func whatIf(w io.Writer, j systems.Job, text string, sys units.System, asJSON bool) (*systems.Outcome, error) {
	x, err := disturb(j, text)
	if err != nil {
		return nil, err
	}
	if asJSON {
		return x.AsPlanned.Outcome, encode(w, x)
	}
	return x.AsPlanned.Outcome, report.WriteDifference(w, x, sys)
}

func disturb(j systems.Job, text string) (*systems.Difference, error) {
	d, err := j.Disturbances(text)
	if err != nil {
		return nil, err
	}
	return systems.WhatIf(context.Background(), j, d...)
}

// saveDisturbed writes the picture of the plan as planned through the
// disturbances that text says.
func saveDisturbed(name string, j systems.Job, text string, sys units.System, width units.Length) (*systems.Outcome, error) {
	format, err := pictureFormat(name)
	if err != nil {
		return nil, err
	}
	x, err := disturb(j, text)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := drawPlan(&b, format, j, x.AsPlanned.Outcome, nil, x, sys, width); err != nil {
		return nil, errors.New(strings.ReplaceAll(err.Error(), "\n", "; "))
	}
	return x.AsPlanned.Outcome, os.WriteFile(name, b.Bytes(), 0o644)
}
