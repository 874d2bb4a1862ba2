"""How sure the sums of job.yaml are: sums.json on standard output.

The sums are written out here by hand, each thing once as a variable, so that a
straightedge or a gauge met twice is carried through as one thing by the library.
Rules: limit of error a: a/sqrt(3), one error for all that a gauge reads in the job;
resolution d: d/sqrt(12), one for a run of repeats; repeats: s/sqrt(n); a piece: U/k;
a mark or a figure by hand in steps of d: d/sqrt(12).
"""
import json, math, statistics, sys
import uncertainties
from uncertainties import ufloat

D07 = ufloat(0, 0.02 / math.sqrt(3))
M01 = ufloat(0, 0.004 / math.sqrt(3))
F01 = ufloat(0, 0.2 / math.sqrt(3))
I03 = ufloat(0, 0.01 / math.sqrt(3))
tall = ufloat(75.004, 0.002 / 2)
long = ufloat(150.006, 0.003 / 2)
overall = ufloat(200.011, 0.004 / 2)
edge = ufloat(12.006, 0.0025 / 2.5)


def run(gauge, step, *readings):
    """The mean of repeats, with their scatter, the gauge's last digit and its error."""
    s = statistics.stdev(readings)
    return statistics.fmean(readings) + ufloat(0, s / math.sqrt(len(readings))) + ufloat(0, step / math.sqrt(12)) + gauge


def mark(nominal, digits, step):
    return nominal + ufloat(digits * step, step / math.sqrt(12))


def by_hand(figure, step):
    return ufloat(figure, step / math.sqrt(12))


pinion_distance = mark(150, +8, 0.01)
casing_distance = mark(160, -3, 0.01)
pinion_head = run(M01, 0.01, 42.37, 42.38)
face_height = tall + edge - run(D07, 0.01, 33.38, 33.37, 33.39)
joint = mark(62, +2, 0.01)
wheel_distance = mark(45, -5, 0.01)
casing_depth = long + run(D07, 0.01, 31.48, 31.49, 31.48) - edge
wheel_height = tall + edge - run(D07, 0.01, 25.93, 25.93, 25.92)
recess = run(D07, 0.01, 18.74, 18.73, 18.74)
overall_height = overall + edge - run(D07, 0.01, 26.99, 26.98, 26.99)
wheel_pack_fitted = by_hand(1.43, 0.01)

floated = run(I03, 0.01, 1.11, 1.11, 1.12) - run(I03, 0.01, 1.00, 1.00, 1.01)
by_loop = 0.08 + recess + casing_depth - wheel_pack_fitted - overall_height
by_trial = by_hand(1.65, 0.01) + 0.08 + floated

sums = {
    "pinion face height": face_height,
    "pinion pack": pinion_distance - casing_distance + face_height - pinion_head,
    "casing depth": casing_depth,
    # the straightedge stands in it twice, with one sign
    "wheel pack": -wheel_distance - joint + casing_depth - wheel_height,
    # the closing loop: three readings of one gauge with one sign
    "closing pack, by the loop": by_loop,
    "closing pack": by_trial,
    "closing pack, the two ways apart": by_trial - by_loop,
    "pinion turning torque": run(F01, 0.1, 38.0, 38.0, 38.5, 37.5) * ((152.40 / 2 + 2.00 / 2) / 1000),
}
# What the correlation is worth: the same sums with a straightedge, and with a gauge,
# for every place they stand in.
edge2, D08, D09 = ufloat(12.006, 0.0025 / 2.5), ufloat(0, 0.02 / math.sqrt(3)), ufloat(0, 0.02 / math.sqrt(3))
sums["wheel pack, two straightedges"] = sums["wheel pack"] + edge - edge2
sums["closing pack, three gauges"] = sums["closing pack, by the loop"] - 2 * D07 + D08 + D09
json.dump({"made_by": {"uncertainties": uncertainties.__version__},
           "sums": {k: {"figure": repr(v.nominal_value), "u": repr(v.std_dev)} for k, v in sums.items()}}, sys.stdout, indent=1)
print()
