#!/bin/sh
# The backlash limits of the published table in mm: backlash_mm.csv on standard output.
set -eu
cd "$(dirname "$0")"
echo dp_from,dp_to,q7_13_min_mm,q7_13_max_mm,q3_6_min_mm,q3_6_max_mm
tail -n +2 ../../published/gear/recommended_backlash_bevel_dp.csv | tr -d '\r' | while IFS=, read -r from to a b c d; do
    row="$from,$to"
    for x in "$a" "$b" "$c" "$d"; do
        row="$row,$(units --terse --output-format '%.15g' "0$x inch" mm)"
    done
    echo "$row"
done
