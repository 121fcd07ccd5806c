"""Price build-ups computed with Python's decimal module, apart from the service.

    python3 tests/outside/pricing_cases.py > tests/reference/cases/pricing.json

Rules: price = cost (1 + markup) = cost / (1 - margin) (read, a markup calculator's page); each step rounded once, half
away from zero; margins side by side are shares of one price, (cost + markups) / (1 - sum of margins), rounded once, and what
they come to is shared out by their percentages, unless they reach 100 % together; document-level discount = base x percentage / 100 (EN 16931, from memory); sales tax carried to the third
decimal and up when that is above 4 (SSUTA sec. 324, read as R.I. Gen. Laws 44-18.1-25). Shares by largest remainder.
"""
import json
import random
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal as D

CENT = D("0.01")
CATEGORIES = ["material", "labor", "hire", "subcontract", "disposal", "permit"]
STEPS = ["overhead", "contingency", "profit"]


def cents(x):
    return x.quantize(CENT, ROUND_HALF_UP)


def added(base, rate):
    share = D(rate["pct"]) / 100
    return cents(base * share) if rate["as_kind"] == "markup" else cents(base / (1 - share) - base)


def beside(cost, rates):
    """Overhead, contingency and profit side by side."""
    alone = [added(cost, r) for r in rates]
    margins = [int(D(r["pct"]) * 10_000) if r["as_kind"] == "margin" else 0 for r in rates]
    if sum(margins) >= 1_000_000:
        return alone
    marked = cost + sum(a for a, r in zip(alone, rates) if r["as_kind"] == "markup")
    price = cents(marked * 1_000_000 / (1_000_000 - sum(margins)))
    parts = shares(price - marked, margins)
    return [part if r["as_kind"] == "margin" else a for a, part, r in zip(alone, parts, rates)]


def shares(total, weights):
    minor, whole = int(total * 100), sum(weights)
    if whole == 0:
        return [total] + [D(0)] * (len(weights) - 1)
    parts = [minor * w // whole for w in weights]
    order = sorted(range(len(weights)), key=lambda i: (-(minor * weights[i] % whole), i))
    for i in order[: minor - sum(parts)]:
        parts[i] += 1
    return [D(p) / 100 for p in parts]


def build(case):
    costs = {c: sum((D(l["cost"]) for l in case["lines"] if l["category"] == c), D(0)) for c in CATEGORIES}
    scheme = case["scheme"]
    own = {o["category"]: o for o in scheme["by_category"]}
    sums = dict(costs)
    for step in STEPS:
        for c in CATEGORIES:
            if costs[c]:
                rates = [own.get(c, {}).get(s, scheme[s]) for s in STEPS]
                at = STEPS.index(step)
                compound = scheme["compounding"] == "compound"
                sums[c] += added(sums[c], rates[at]) if compound else beside(costs[c], rates)[at]
    for discount in case["discounts"]:
        if "category" in discount:
            c = discount["category"]
            sums[c] -= min(sums[c], off(discount, sums[c]))
        else:
            total = sum(sums.values())
            parts = shares(min(total, off(discount, total)), [int(sums[c] * 100) for c in CATEGORIES])
            for c, part in zip(CATEGORIES, parts):
                sums[c] -= part
    total = sum(sums.values())
    price = max(total, D(scheme["least_charge"]))
    step = D(scheme["round_to"])
    steps, rest = divmod(price, step)
    price = (steps + (1 if rest else 0)) * step
    parts = dict(zip(CATEGORIES, shares(price, [int(sums[c] * 100) for c in CATEGORIES])))
    taxable = sum(parts[c] for c in case["tax"]["categories"])
    tax = (taxable * D(case["tax"]["rate_pct"]) / 100).quantize(D("0.001"), ROUND_DOWN).quantize(CENT, ROUND_HALF_UP)
    return {
        "direct_cost": str(sum(costs.values()).quantize(CENT)),
        "price_before_tax": str(price.quantize(CENT)),
        "tax": str(tax),
        "total": str((price + tax).quantize(CENT)),
        "by_category": {c: str(parts[c].quantize(CENT)) for c in CATEGORIES if costs[c]},
    }


def off(discount, base):
    return cents(base * D(discount["pct"]) / 100) if discount["kind"] == "percent" else D(discount["amount"])


def case(rng, number):
    money = lambda most: str((D(rng.randrange(most)) / 100).quantize(CENT))
    rate = lambda: {"pct": str(D(rng.randrange(4000)) / 100), "as_kind": rng.choice(["markup", "margin"])}
    owned = rng.sample(CATEGORIES, rng.randrange(1, 4))
    discounts = []
    for _ in range(rng.randrange(3)):
        d = {"name": "Neighbor"}
        d.update(
            {"kind": "percent", "pct": str(D(rng.randrange(2000)) / 100)}
            if rng.random() < 0.5
            else {"kind": "amount", "amount": money(30_000)}
        )
        if rng.random() < 0.5:
            d["category"] = rng.choice(CATEGORIES)
        discounts.append(d)
    built = {
        "id": f"price-{number:02}",
        "source": "tests/outside/pricing_cases.py: Python decimal",
        "source_basis": "computed",
        "lines": [{"category": rng.choice(CATEGORIES), "cost": money(400_000)} for _ in range(rng.randrange(2, 9))],
        "scheme": {
            "code": "s", "name": "s", "overhead": rate(), "contingency": rate(), "profit": rate(),
            "compounding": rng.choice(["compound", "additive"]),
            "by_category": [{"category": c, rng.choice(STEPS): rate()} for c in owned],
            "least_charge": money(2_000_000), "round_to": rng.choice(["0.01", "1.00", "5.00", "25.00"]), "rounding": "up",
        },
        "discounts": discounts,
        "tax": {
            "code": "t", "name": "t", "rate_pct": str(D(rng.randrange(100_000)) / 10_000),
            "categories": sorted(rng.sample(CATEGORIES, rng.randrange(1, 6))), "due_on": "sale",
            "rounding": "per_document",
        },
    }
    built["expected"] = build(built)
    return built


rng = random.Random(20270301)
print("[\n" + ",\n".join(json.dumps(case(rng, n)) for n in range(1, 41)) + "\n]")
