"""Writes uniform and normal draws made by numpy's PCG64 and scipy's inverse normal from the same state as the project's stream.

    pip install numpy==2.4.6 scipy==1.17.1
    python tests/outside/draw_cases.py > tests/plan/cases/draws.json
"""

import json
from importlib.metadata import version

import numpy as np
from scipy.stats import norm

MASK64, MASK128 = (1 << 64) - 1, (1 << 128) - 1
STREAM = 0x0A02BDBF7BB3C0A7AC28FA16A64ABF96
MULTIPLIER = 0x2360ED051FC65DA44385DF649FCCF645


def mix(seed):
    z = (seed + 0x9E3779B97F4A7C15) & MASK64
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK64
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK64
    return z ^ (z >> 31)


cases = []
for seed in (0, 1, 7, 2**64 - 1):
    high = mix(seed)
    increment = ((STREAM << 1) | 1) & MASK128
    state = (((high << 64) | mix(high)) + increment) & MASK128
    state = (state * MULTIPLIER + increment) & MASK128
    generator = np.random.PCG64(0)
    generator.state = {
        "bit_generator": "PCG64",
        "state": {"state": state, "inc": increment},
        "has_uint32": 0,
        "uinteger": 0,
    }
    uniform = [((int(bits) >> 11) + 0.5) / 2.0**53 for bits in generator.random_raw(8)]
    cases.append({"seed": str(seed), "uniform": uniform, "normal": [float(norm.ppf(u)) for u in uniform]})

print(json.dumps({
    "source": f"numpy {version('numpy')} PCG64, scipy {version('scipy')} norm.ppf",
    "source_basis": "computed by independent libraries",
    "cases": cases,
}, indent=1))
