"""Thirty trays and wanted sizes: trays.json on standard output. The seed is fixed.

Sizes are whole numbers of `step`; the first ones are trays as a shop has them, the
rest are drawn at random, leaves measured to the last digit among them.
"""
import json, random

r = random.Random(9377)
trays = []


def tray(step, leaves, want, within, least=1, most=60):
    trays.append({"step": step, "leaves": [{"size": s, "count": c} for s, c in leaves],
                  "want": want, "within": within, "at_least": least, "at_most": most})


shop = [(100, 4), (30, 4), (10, 4), (5, 4)]
tray("0.01 mm", shop, 137, 2)
tray("0.01 mm", shop, 143, 2)
tray("0.01 mm", shop, 143, 3)
tray("0.01 mm", [(10, 20), (25, 20)], 137, 1)              # none: nearest are 135 and 140
tray("0.01 mm", [(10, 20), (25, 20), (12, 1)], 137, 1)     # six leaves, exact
tray("1 thou", [(3, 4), (5, 4), (10, 4), (20, 2), (30, 2)], 51, 2, most=5)
tray("1 thou", [(3, 2), (5, 2), (10, 2), (20, 1), (30, 1)], 51, 2)
tray("0.01 mm", [(100, 2), (50, 3), (30, 3), (20, 3), (15, 3), (10, 5), (5, 6)], 184, 2, least=3)
while len(trays) < 30:
    step, coarse = r.choice([("0.01 mm", 1), ("0.001 mm", 10), ("0.0001 in", 10), ("1 thou", 1), ("0.001 mm", 10)])
    kinds = {}
    for _ in range(r.randint(3, 12)):
        nominal = r.choice([3, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100]) * coarse
        kinds[max(1, nominal + r.randint(-2, 2) * (coarse > 1))] = r.randint(1, 6)
    leaves = sorted(kinds.items(), reverse=True)
    want = r.randint(30, 350) * coarse + r.randint(0, coarse - 1)
    tray(step, leaves, want, r.choice([0, 1, 2, 3]) * r.choice([1, coarse]), r.choice([1, 1, 1, 3]), r.choice([60, 60, 5, 7]))
print("[\n" + ",\n".join(" " + json.dumps(t) for t in trays) + "\n]")
