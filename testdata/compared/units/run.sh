#!/bin/sh
# Converts 1 of each unit into each other of its kind: pairs.csv on standard output.
# Left of the colon the name in this project, right of it the name in GNU units.
set -eu
echo from,to,factor
for kind in \
    "mm:mm in:inch thou:0.001inch 0.01_mm:0.01mm µm:micron" \
    "N:N lbf:lbf kgf:kgf" \
    "N.m:N*m lbf.in:lbf*inch lbf.ft:lbf*ft kgf.cm:kgf*cm"
do
    for a in $kind; do
        for b in $kind; do
            [ "$a" = "$b" ] && continue
            f=$(units --terse --output-format '%.17g' "1 ${a#*:}" "(${b#*:})")
            echo "${a%%:*},${b%%:*},$f" | tr _ ' '
        done
    done
done
