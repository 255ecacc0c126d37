#!/usr/bin/env bash
# Compares the kinetics of package cure with SciPy's DOP853 at rtol 1e-8, in one
# run on one machine. Needs Debian's python3-scipy; no part of .ci/run.
set -euo pipefail
cd "$(dirname "$0")/../.."
go test -run '^TestConvert72h$' -v -bench '^BenchmarkConvert72h$' -count 10 -benchtime 50ms ./cure | tee /dev/stderr | /usr/bin/python3 internal/ode/compare.py
