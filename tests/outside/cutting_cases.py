"""Optimal cut lists from a general-purpose mixed-integer solver, as data for the tests.

    pip install highspy
    python tests/outside/cutting_cases.py tests/orders/cases/cutting.json

The model is written from the rules of the cut list, not from the program: for every copy of a stock length and every
leg a piece length `x` and a binary `z` (there is such a piece), a binary `y` (the copy is used) and a binary `e` (the copy
is used up to its last length, which saves its last cut).

    minimise  price y + joint (sum z - legs) + cut (sum z - sum e)
    least z <= x <= length z
    sum_leg x + kerf (sum_leg z - y) <= length y, and >= length e
    sum_copy x + gap (sum_copy z - 1) = leg
    sum_copy z <= joints + 1
"""

import json
import random
import sys

import highspy


MOST_COPIES = 9


def solve(case):
    h = highspy.Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("mip_rel_gap", 0.0)
    h.setOptionValue("mip_abs_gap", 0.0)
    h.setOptionValue("time_limit", 5.0)
    legs, kerf, gap = case["legs"], case["kerf"], case["gap"]
    least = max(case["least"], 1 - min(gap, 0))
    copies = []
    for kind, (length, price, available) in enumerate(case["stock"]):
        # as many copies as any sensible plan can use; a case that needs more is too large for the solver
        need = sum(-(-(leg + gap) // (length + gap)) + 1 for leg in legs)
        if available is None and need > MOST_COPIES:
            raise TimeoutError
        copies += [(kind, length, price)] * (available if available is not None else need)
    binary, real = [], []

    def var(cost, upper, integer):
        h.addVar(0.0, upper)
        index = h.getNumCol() - 1
        h.changeColCost(index, cost)
        if integer:
            h.changeColIntegrality(index, highspy.HighsVarType.kInteger)
        return index

    y = [var(price, 1, True) for _, _, price in copies]
    e = [var(-case["cut"], 1, True) for _ in copies]
    z = [[var(case["joint"] + case["cut"], 1, True) for _ in legs] for _ in copies]
    x = [[var(0, length, False) for _ in legs] for _, length, _ in copies]
    inf = highspy.kHighsInf

    def row(low, high, terms):
        merged = {}
        for index, factor in terms:
            merged[index] = merged.get(index, 0) + factor
        h.addRow(low, high, len(merged), list(merged), [float(v) for v in merged.values()])

    for s, (kind, length, _) in enumerate(copies):
        filled = [(x[s][i], 1) for i in range(len(legs))] + [(z[s][i], kerf) for i in range(len(legs))]
        row(-inf, 0, filled + [(y[s], -kerf - length)])
        row(0, inf, filled + [(y[s], -kerf), (e[s], -length)])
        row(-inf, 0, [(e[s], 1), (y[s], -1)])
        row(0, inf, [(v, 1) for v in z[s]] + [(y[s], -1)])
        for i in range(len(legs)):
            row(-inf, 0, [(x[s][i], 1), (z[s][i], -length)])
            row(0, inf, [(x[s][i], 1), (z[s][i], -least)])
            row(-inf, 0, [(z[s][i], 1), (y[s], -1)])
        if s and copies[s - 1][0] == kind:
            row(0, inf, [(y[s - 1], 1), (y[s], -1)])
    for i, leg in enumerate(legs):
        row(leg + gap, leg + gap, [(x[s][i], 1) for s in range(len(copies))] + [(z[s][i], gap) for s in range(len(copies))])
        if case["max_joints"] is not None:
            row(-inf, case["max_joints"] + 1, [(z[s][i], 1) for s in range(len(copies))])
    h.run()
    status = h.getModelStatus()
    if status == highspy.HighsModelStatus.kOptimal:
        return round(h.getInfo().objective_function_value) - case["joint"] * len(legs)
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    raise TimeoutError


def main():
    dice = random.Random(20260504)
    cases = []
    while len(cases) < 160:
        kinds = dice.randint(1, 3)
        stock = [[dice.randint(20, 60), dice.randint(10, 90), None] for _ in range(kinds)]
        stock += [[dice.randint(6, 40), dice.randint(0, 4), dice.choice([1, 1, 2])] for _ in range(dice.choice([0, 0, 1, 2]))]
        longest = max(s[0] for s in stock if s[2] is None)
        case = {
            "legs": [dice.randint(8, 3 * longest // 2) for _ in range(dice.randint(2, 4))],
            "stock": stock,
            "kerf": dice.randint(0, 3),
            "gap": dice.choice([0, 0, 0, 1, 2, 4, -2]),
            "least": dice.choice([1, 3, 6, 10]),
            "max_joints": dice.choice([None, None, None, 1, 2]),
            "joint": dice.randint(0, 20),
            "cut": dice.randint(0, 9),
        }
        if min(case["legs"]) < max(case["least"], 1 - min(case["gap"], 0)):
            continue
        try:
            case["total"] = solve(case)
        except TimeoutError:
            continue
        cases.append(case)
    with open(sys.argv[1], "w") as out:
        out.write("[\n" + ",\n".join("  " + json.dumps(c) for c in cases) + "\n]\n")


main()
