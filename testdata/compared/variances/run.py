"""Analysis of variance of the published gauge studies: anova.json on standard output.

Two models, ordinary least squares with sums of squares of type 1 (the designs are
balanced, so the type does not matter): with the interaction of part and person,
and without it. F of part and person is given against repeatability by the library;
against the interaction it is worked here from its mean squares.
"""
import json, pathlib, sys
import pandas, scipy, scipy.stats, statsmodels
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

here = pathlib.Path(__file__).parent
out = {"made_by": {"statsmodels": statsmodels.__version__, "scipy": scipy.__version__, "pandas": pandas.__version__}, "sets": {}}
names = {"C(part)": "part", "C(operator)": "person", "C(part):C(operator)": "part by person", "Residual": "repeatability"}


def rows(table):
    return {names[k]: {"sum_sq": repr(float(r["sum_sq"])), "df": int(r["df"]), "mean_sq": repr(float(r["mean_sq"])),
                       "f": repr(float(r["F"])), "p": repr(float(r["PR(>F)"]))} for k, r in table.iterrows()}


for name in ["aiag", "gasket", "houf_berman", "vardeman"]:
    d = pandas.read_csv(here / ".." / ".." / "published" / "grr" / (name + ".csv"))
    full = rows(anova_lm(ols("value ~ C(part) * C(operator)", d).fit(), typ=1))
    plain = rows(anova_lm(ols("value ~ C(part) + C(operator)", d).fit(), typ=1))
    below = full["part by person"]
    against = {}
    for k in ["part", "person"]:
        f = float(full[k]["mean_sq"]) / float(below["mean_sq"])
        against[k] = {"f": repr(f), "p": repr(float(scipy.stats.f.sf(f, full[k]["df"], below["df"])))}
    out["sets"][name] = {"with_interaction": full, "against_interaction": against, "without": plain}
json.dump(out, sys.stdout, indent=1)
print()
