"""Writes tests/water/cases/fluids.json: Manning flows and critical depths from the library `fluids` (PyPI).

Run once with `pip install fluids==1.3.1` and `python3 tests/outside/fluids_cases.py`; the result is committed.
Critical depths come from the library's own Froude condition solved by bisection on its section formulas,
Manning flows from fluids.V_Manning.
"""

import json
import math
import pathlib
import random

import fluids
from fluids.open_flow import V_Manning

G = 9.80665


def circle(d, y):
    theta = 2 * math.acos(1 - 2 * y / d)
    area = d * d / 8 * (theta - math.sin(theta))
    return area, 0.5 * d * theta, d * math.sin(theta / 2)


def rectangle(b, y):
    return b * y, b + 2 * y, b


def u_shape(b, y):
    r = b / 2
    if y <= r:
        return circle(b, y)
    return math.pi * r * r / 2 + b * (y - r), math.pi * r + 2 * (y - r), b


SHAPES = {"circle": circle, "rectangle": rectangle, "u_shape": u_shape}


def froude_squared(shape, size, y, q):
    area, _, top = SHAPES[shape](size, y)
    # fluids.Froude takes the hydraulic depth as its length; squared it is V^2/(g D).
    return fluids.Froude(V=q / area, L=area / top, g=G, squared=True)


def critical(shape, size, q):
    low, high = 1e-9 * size, (0.999999 if shape == "circle" else 50) * size
    for _ in range(200):
        mid = 0.5 * (low + high)
        if froude_squared(shape, size, mid, q) > 1:
            low = mid
        else:
            high = mid
    return 0.5 * (low + high)


def main():
    rng = random.Random(1959)
    cases = []
    for index in range(240):
        shape = ("circle", "rectangle", "u_shape")[index % 3]
        size = 10 ** rng.uniform(-1.3, 0.0)
        fill = rng.uniform(0.02, 0.9) * (1 if shape == "circle" else 2)
        y = fill * size
        n = rng.uniform(0.008, 0.02)
        slope = 10 ** rng.uniform(-3.5, -1)
        area, perimeter, _ = SHAPES[shape](size, y)
        velocity = V_Manning(Rh=area / perimeter, S=slope, n=n)
        flow = velocity * area
        cases.append(
            {
                "shape": shape,
                "size_m": size,
                "depth_m": y,
                "n": n,
                "slope": slope,
                "velocity_m_per_s": velocity,
                "flow_m3_per_s": flow,
                "critical_depth_m": critical(shape, size, flow),
            }
        )
    out = {"source": f"PyPI fluids {fluids.__version__}", "source_basis": "computed", "gravity": G, "cases": cases}
    path = pathlib.Path(__file__).parent.parent / "water" / "cases" / "fluids.json"
    path.write_text(json.dumps(out, indent=0) + "\n")


if __name__ == "__main__":
    main()
