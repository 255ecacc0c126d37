#!/usr/bin/env bash
# The benchmarks of climate's forecasts and SciPy's solve_ivp on the same cases at
# equal error, in one run. The error is the largest against the tight reference
# of reference.py, at every output of the case. Ratios say more than times.
set -euo pipefail
cd "$(dirname "$0")/../.."
python=${PYTHON:-/usr/bin/python3}
"$python" -c 'import scipy' 2>/dev/null || { echo "compare.sh: $python has no SciPy: install python3-scipy, or name another in PYTHON" >&2; exit 1; }

log=$(go test -count=1 -v -run '^TestScipy(Slab|Room)$' ./climate) || { echo "$log"; exit 1; }
slab=$(sed -n 's/.* benchmark: surface off \([0-9.]*\) K at.*/\1/p' <<<"$log")
room=$(sed -n 's/.* benchmark: air and surface off \([0-9.]*\) K but .* events off \([0-9.]*\) s$/\1 \2/p' <<<"$log")
[ -n "$slab" ] && [ -n "$room" ] || { echo "compare.sh: the tests no longer tell the benchmark cases' errors" >&2; exit 1; }

bench=$(go test -run '^$' -bench '^Benchmark(SlabForecast|RoomForecast)$' -count 3 ./climate)
least() { awk -v name="^Benchmark$1" '$1 ~ name && (!t || $3 < t) { t = $3 } END { print t }' <<<"$bench"; }

"$python" internal/scipycheck/compare.py slab "$slab" "$(least SlabForecast)"
# shellcheck disable=SC2086 # two numbers
"$python" internal/scipycheck/compare.py room $room "$(least RoomForecast)"
