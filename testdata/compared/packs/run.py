"""Solves every tray of trays.json with glpsol, both ways: optima.csv on standard output.

miss and leaves are empty where no pack lies within the tolerance. taken is how many
of each kind of leaf: one of several packs that may be alike in miss and leaves.
"""
import json, pathlib, subprocess, tempfile

here = pathlib.Path(__file__).parent
print("tray,order,miss,leaves,taken")
for i, t in enumerate(json.loads((here / "trays.json").read_text()), 1):
    kinds = range(1, len(t["leaves"]) + 1)
    data = "data;\nset KINDS := " + " ".join(map(str, kinds)) + ";\n"
    for key in ["size", "count"]:
        data += f"param {key} := " + ", ".join(f"{k} {l[key]}" for k, l in zip(kinds, t["leaves"])) + ";\n"
    data += f"param want := {t['want']};\nparam band := {t['within']};\n"
    data += f"param least := {t['at_least']};\nparam most := {t['at_most']};\nend;\n"
    with tempfile.NamedTemporaryFile("w", suffix=".dat") as f:
        f.write(data)
        f.flush()
        for order in ["closest", "fewest"]:
            said = subprocess.run(["glpsol", "--math", here / (order + ".mod"), "--data", f.name],
                                  capture_output=True, text=True, check=True).stdout
            found = [line.split() for line in said.splitlines() if line.startswith("optimum ")]
            if found and "INTEGER OPTIMAL SOLUTION FOUND" in said:
                print(f"{i},{order},{found[0][1]},{found[0][2]},{' '.join(found[0][3:])}")
            elif "NO PRIMAL FEASIBLE SOLUTION" in said or "NO INTEGER FEASIBLE SOLUTION" in said:
                print(f"{i},{order},,,")
            else:
                raise SystemExit(f"tray {i}, {order}: glpsol says\n{said}")
