#!/usr/bin/env bash
# Writes gnu-units.tsv (kind, symbol, GNU expression, factor to SI) from a list
# of kind, symbol and SI symbol on standard input, with GNU units.
set -euo pipefail
expr() { # our symbol in the words of GNU units
  sed -E -e 's/°F/degF/g; s/°C/degC/g; s/MMBtu/1e6 btu_IT/g; s/Btu/btu_IT/g; s/kcal/1000 cal_th/g; s/fl oz/floz/g; s/‰/0.001/; s/%/0.01/' \
    -e 's/\bum\b/micrometer/g; s/\bL\b/liter/g; s/\bmL\b/milliliter/g; s/\bt\b/tonne/g; s/\bh\b/hour/g; s/\bd\b/day/g; s/\bmin\b/minute/g; s/\bWh\b/W hour/; s/\bkWh\b/kW hour/' \
    -e 's/^kg\/kg$/1/; s/^ppm$/1e-6/; s/^lb\/100 ft2$/lb\/(100 ft2)/; s/^lb\/1000 ft2$/lb\/(1000 ft2)/; s/\bmi\b/mile/'
}
echo "# $(units --version | head -1); columns: kind, symbol, expression, factor to SI"
while IFS=$'\t' read -r kind symbol si; do
  a=$(printf '%s' "$symbol" | expr); b=$(printf '%s' "$si" | expr)
  [ "$kind" = fraction ] && b=1
  printf '%s\t%s\t%s\t%s\n' "$kind" "$symbol" "$a" "$(units -t -o %.16g -- "$a" "$b")"
done
